"""A job with its doors: what hears, what speaks, who looks on, as the command line asked for."""

import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, TextIO

from rich.console import Console

from assistant.dialogue.phrasing import load_phrasebook
from assistant.errors import AssistantError, HearingError
from assistant.hearing import echo
from assistant.hearing.dictation import open_writer
from assistant.hearing.echo import EchoCanceller, EchoFree
from assistant.hearing.endpointing import Endpointer
from assistant.hearing.engines import engines
from assistant.hearing.faint import FaintSpeech
from assistant.hearing.floor import NoiseFloor
from assistant.hearing.grammar import combined, load_grammar, modes, words_of
from assistant.hearing.lasting import LastingSource
from assistant.hearing.opening import open_recogniser
from assistant.hearing.press import Press
from assistant.hearing.recogniser import Recogniser
from assistant.hearing.sources import FileSource, MicrophoneSource
from assistant.job.fold import replay
from assistant.job.folder import JobFolder
from assistant.page.wall import WallPage
from assistant.speaking.engines import open_voice
from assistant.speaking.mouth import Mouth, NoMouth, VoiceMouth
from assistant.speaking.outputs import FileOutput, Loudspeaker
from assistant.speaking.player import Speaker
from assistant.work.aid import Aid
from assistant.work.aids import ElsewhereAid, KeyAid, NameAid, QuestionAid
from assistant.work.calling import Calling
from assistant.work.camera import Camera
from assistant.work.clock import Clock, MovedClock, WallClock, clock_of_recording, far_ahead
from assistant.work.conductor import Conductor
from assistant.work.face import PageWatcher
from assistant.work.habits import Habits, load_habits
from assistant.work.job_notes import write_down
from assistant.work.keeping import RefusedSound
from assistant.work.keys import check_keys, terminal_keys
from assistant.work.opening import changed_unasked, open_beside, open_job
from assistant.work.run import run_sound, run_text
from assistant.work.shop import shop_text
from assistant.work.sound_aids import FaintAid, MicrophoneAid, NoiseAid
from assistant.work.voices import adapted, known_voice
from assistant.work.watch import ConsoleWatcher, JsonWatcher, Watcher

_CHANGED: Final = (
    "callout: the procedure's file has changed since this job began; the job goes on with its own text."
    " Count revision: up in the file to be asked about the new one\n"
)


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
    call_name: str | None = None
    require_name: bool = False
    push_to_talk: bool = False
    keep_sound: bool = False
    mechanic: str | None = None
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
    job: str | None = None,
    typed: TextIO = sys.stdin,
    out: TextIO = sys.stdout,
) -> None:
    """Open a job and work it until it is closed or nothing more is heard.

    What cannot be opened is told before a job is begun. Raises AssistantError in one line.
    """
    with ExitStack() as stack:
        canceller = _canceller(doors)
        mouth = stack.enter_context(open_mouth(doors, canceller))
        habits = load_habits()
        calling = _calling(doors, habits)
        hearing = None if doors.hear == "text" else _hearing(stack, doors, calling)
        camera = Camera(doors.camera) if doors.camera else None
        today = datetime.now(UTC).astimezone()
        way, folder = open_job(
            procedure, jobs_dir, new=new, job=job, route=route, today=today, shop_text=shop_text(doors.shop)
        )
        stack.enter_context(folder)
        if new is None and job is None and (beside := open_beside(jobs_dir, way, folder)):
            sys.stderr.write(f"callout: {beside}\n")
        if changed_unasked(procedure, way, folder):
            sys.stderr.write(_CHANGED)
        if wrong := far_ahead(folder.journal.last_at, today):
            sys.stderr.write(f"callout: {wrong}\n")
        watchers: list[Watcher] = [JsonWatcher(out) if doors.as_json else ConsoleWatcher(Console(file=out))]
        clock = _clock(hearing, today, folder.journal.last_at)
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
            calling=calling,
            keeper=RefusedSound(folder.path) if doors.keep_sound else None,
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
            press = Press(only=doors.push_to_talk)
            ends, floor = Endpointer(), NoiseFloor()
            aids = _aids(
                stack, source, recogniser, habits, press=press, calling=calling, endpointer=ends, floor=floor
            )
            run_sound(
                conductor,
                EchoFree(source, canceller) if canceller else source,
                recogniser,
                mouth,
                passed=passed,
                aids=aids,
                press=press,
                endpointer=ends,
                floor=floor,
            )
            if conductor.state.closed:
                _write_notes_down(folder, clock)


def _clock(
    hearing: tuple[FileSource | LastingSource, Recogniser] | None, opened: datetime, last: datetime | None
) -> MovedClock | WallClock:
    """Give the clock of a job that stood at `last`: a recording is heard faster than it was made, and has its own."""
    if hearing is not None and isinstance(hearing[0], FileSource):
        return clock_of_recording(hearing[0].seconds, opened, last)
    return WallClock(last)


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


def _canceller(doors: Doors) -> EchoCanceller | None:
    """Give what takes the own voice out of the microphone's sound, where both are used and it is installed."""
    is_needed = doors.hear == "mic" and doors.speak == "voice"
    return EchoCanceller() if is_needed and not echo.missing() else None


def _calling(doors: Doors, habits: Habits) -> Calling:
    name = doors.call_name if doors.call_name is not None else habits.call_name
    always = doors.require_name or habits.require_name
    if always and not words_of(name):
        raise HearingError(
            "a name is required and none is given", do="give --call-name, or write it in habits.yaml"
        )
    return Calling(name=name, always=always)


def _aids(
    stack: ExitStack,
    source: FileSource | LastingSource,
    recogniser: Recogniser,
    habits: Habits,
    *,
    press: Press,
    calling: Calling,
    endpointer: Endpointer,
    floor: NoiseFloor,
) -> tuple[Aid, ...]:
    """Give what helps hearing; a recording has no keys and no microphone that could go away.

    Where the name is required, talk without it is never an answer.
    """
    has_keys = isinstance(source, LastingSource) and sys.stdin.isatty()
    talk_key = habits.talk_key if has_keys else ""
    noise = NoiseAid(lambda: endpointer.talk_s, talk_key=talk_key, floor=floor)
    faint = FaintAid(FaintSpeech(recogniser), floor, press)
    anything = combined([load_grammar(mode) for mode in modes()], "all")
    by_talk = () if calling.always else (QuestionAid(), ElsewhereAid(anything))
    always: tuple[Aid, ...] = (noise, faint, NameAid(), *by_talk)
    if press.only and not has_keys:
        raise HearingError(
            "push to talk needs a microphone, and a terminal whose keys it can read",
            do="leave out --push-to-talk",
        )
    if not isinstance(source, LastingSource):
        return always
    if habits.keys:
        check_keys(habits.keys, lambda act: anything.match(words_of(act)) is not None)
    keys = stack.enter_context(terminal_keys())
    return (KeyAid(keys, habits.all_keys, press, (noise, faint)), MicrophoneAid(source), *always)


def _hearing(
    stack: ExitStack, doors: Doors, calling: Calling
) -> tuple[FileSource | LastingSource, Recogniser]:
    """Open what hears: the source first, which fails sooner than an engine that takes a second to load."""
    if _is_file(doors.hear):
        source: FileSource | LastingSource = FileSource(Path(doors.hear))
    else:
        source = stack.enter_context(LastingSource(MicrophoneSource))
    recogniser = open_recogniser(doors.engine, model=doors.model)
    engine = recogniser.engine
    best = engines()[0]
    if doors.engine is None and engine.name != best.name:
        sys.stderr.write(f"callout: hearing with {engine.name}; {best.name} hears better: {best.remedy}\n")
    if unknown := engine.unknown(words_of(calling.name)):
        raise HearingError(
            f"{engine.name} does not know the word {unknown[0]!r}", where="the name", do="choose another name"
        )
    return source, adapted(recogniser, known_voice(doors.mechanic))


@contextmanager
def open_mouth(doors: Doors, canceller: EchoCanceller | None = None) -> Iterator[Mouth]:
    """Open what speaks; what is said is shown in any case."""
    if doors.speak in {"text", "none"}:
        yield NoMouth()
        return
    voice = open_voice(doors.voice)
    live = doors.speak == "voice"
    output = Loudspeaker() if live else FileOutput(Path(doors.speak))
    speaker = Speaker(output, on_played=canceller.played) if canceller else Speaker(output)
    mouth = VoiceMouth(voice, speaker, live=live)
    try:
        yield mouth
    finally:
        mouth.close()
