"""A job with its doors: what hears, what speaks, who looks on, as the command line asked for."""

import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TextIO

from rich.console import Console

from assistant.dialogue.phrasing import load_phrasebook
from assistant.errors import AssistantError
from assistant.hearing.dictation import open_writer
from assistant.hearing.engines import engines, open_engine
from assistant.hearing.recogniser import Recogniser
from assistant.hearing.sources import FileSource, MicrophoneSource
from assistant.job.fold import replay
from assistant.job.folder import JobFolder
from assistant.page.wall import WallPage
from assistant.speaking.engines import open_voice
from assistant.speaking.mouth import Mouth, NoMouth, VoiceMouth
from assistant.speaking.outputs import FileOutput, Loudspeaker
from assistant.speaking.player import Speaker
from assistant.work.camera import Camera
from assistant.work.clock import Clock, MovedClock, WallClock
from assistant.work.conductor import Conductor
from assistant.work.face import PageWatcher
from assistant.work.job_notes import write_down
from assistant.work.opening import open_job
from assistant.work.run import run_sound, run_text
from assistant.work.shop import shop_text
from assistant.work.watch import ConsoleWatcher, JsonWatcher, Watcher


@dataclass(frozen=True, kw_only=True)
class Doors:
    """What the command line asked for: where it hears, where it speaks, and how it shows what goes on."""

    hear: str = "mic"
    speak: str = "voice"
    engine: str | None = None
    model: Path | None = None
    voice: str | None = None
    page: bool = False
    as_json: bool = False
    shop: Path | None = None
    who: str = ""
    machine: str = ""
    camera: str = ""


def work_job(
    procedure: str,
    jobs_dir: Path,
    doors: Doors,
    *,
    new: str | None,
    route: str,
    typed: TextIO = sys.stdin,
    out: TextIO = sys.stdout,
) -> None:
    """Open a job and work it until it is closed or nothing more is heard.

    What cannot be opened is told before a job is begun. Raises AssistantError in one line.
    """
    with ExitStack() as stack:
        mouth = stack.enter_context(open_mouth(doors))
        hearing = None if doors.hear == "text" else _hearing(stack, doors)
        camera = Camera(doors.camera) if doors.camera else None
        today = datetime.now(UTC).astimezone()
        way, folder = open_job(
            procedure, jobs_dir, new=new, route=route, today=today, shop_text=shop_text(doors.shop)
        )
        stack.enter_context(folder)
        watchers: list[Watcher] = [JsonWatcher(out) if doors.as_json else ConsoleWatcher(Console(file=out))]
        clock = MovedClock(today) if _is_file(doors.hear) else WallClock()
        if doors.page:
            page = stack.enter_context(WallPage())
            watchers.append(PageWatcher(page, way, clock))
            sys.stderr.write(f"callout: the page is at {page.url}\n")
        conductor = Conductor(
            way,
            folder,
            mouth=mouth,
            book=load_phrasebook(),
            clock=clock,
            watchers=watchers,
            who=doors.who,
            machine=doors.machine,
            camera=camera,
        )
        stack.callback(conductor.close)
        if hearing is None:
            assert isinstance(clock, WallClock)  # noqa: S101  (typed lines have no time of their own)
            run_text(conductor, typed, clock)
        else:
            source, recogniser = hearing
            passed = clock.move_to if isinstance(clock, MovedClock) else lambda _seconds: None
            run_sound(conductor, source, recogniser, mouth, passed=passed)
            if conductor.state.closed:
                _write_notes_down(folder, clock)


def _write_notes_down(folder: JobFolder, clock: Clock) -> None:
    """Have the notes of a closed job written down; what cannot be done now is told, and can be asked for later."""
    if not any(note.seconds and not note.text for note in replay(folder.journal.entries()).notes):
        return
    sys.stderr.write("callout: writing the spoken notes down\n")
    try:
        for number, words in write_down(folder, (), open_writer(), clock.now()):
            sys.stderr.write(f"callout: note {number}: {words or '(no words)'}\n")
    except AssistantError as error:
        sys.stderr.write(f"callout: {error}; later: callout notes '{folder.name}' --text\n")


def _is_file(named: str) -> bool:
    return named not in {"mic", "text", "voice", "none"}


def _hearing(stack: ExitStack, doors: Doors) -> tuple[FileSource | MicrophoneSource, Recogniser]:
    """Open what hears: the source first, which fails sooner than an engine that takes a second to load."""
    if _is_file(doors.hear):
        source: FileSource | MicrophoneSource = FileSource(Path(doors.hear))
    else:
        source = stack.enter_context(MicrophoneSource())
    engine = open_engine(doors.engine, model=doors.model)
    best = engines()[0]
    if doors.engine is None and engine.name != best.name:
        sys.stderr.write(f"callout: hearing with {engine.name}; {best.name} hears better: {best.remedy}\n")
    return source, Recogniser(engine)


@contextmanager
def open_mouth(doors: Doors) -> Iterator[Mouth]:
    """Open what speaks; what is said is shown in any case."""
    if doors.speak in {"text", "none"}:
        yield NoMouth()
        return
    voice = open_voice(doors.voice)
    live = doors.speak == "voice"
    speaker = Speaker(Loudspeaker() if live else FileOutput(Path(doors.speak)))
    mouth = VoiceMouth(voice, speaker, live=live)
    try:
        yield mouth
    finally:
        mouth.close()
