"""The demonstration: a simulated mechanic speaks, the sound is really recognised, the job really runs.

Each saying is synthesised, workshop noise is laid over it, and the sum goes through the same
endpointing, recognition, dialogue, journal and voice as a microphone's. Time is the sound's own, and
waits are jumped over, so that a morning's work passes in less than a minute.
"""

import random
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

from assistant.dialogue.intents import Intent
from assistant.dialogue.phrasing import load_phrasebook
from assistant.errors import AssistantError
from assistant.hearing.ear import Ear
from assistant.hearing.grammar import words_of
from assistant.hearing.opening import open_recogniser
from assistant.job.folder import JobFolder
from assistant.job.state import JobState
from assistant.record.write import write_record
from assistant.simulate.ears import Ears, Speech, speakers_here
from assistant.simulate.mechanic import MOST_TRIES, SHORT_ROUTE, Saying, Tally, same_meaning, way_back
from assistant.simulate.noise import workshop
from assistant.speaking.engines import open_voice
from assistant.speaking.mouth import VoiceMouth
from assistant.speaking.outputs import FileOutput
from assistant.speaking.player import Speaker
from assistant.work.clock import MovedClock
from assistant.work.conductor import Conductor
from assistant.work.opening import open_job
from assistant.work.session import Doors, work_job
from assistant.work.watch import ConsoleWatcher

PROCEDURE: Final = "generator-set-head"
ROUTE: Final = "short"
_NOISE_S: Final = 20.0


@dataclass
class _Demo:
    """The mechanic at work: says things, listens to what became of them, says them again."""

    conductor: Conductor
    folder: JobFolder
    ears: Ears
    clock: MovedClock
    speech: Speech
    tally: Tally = field(default_factory=Tally)
    stuck: str = ""

    def play(self, console: Console) -> Iterator[Saying]:
        """Work the job, saying by saying, until its end or until something is not heard at all."""
        self.conductor.begin()
        for saying in SHORT_ROUTE:
            self.clock.pass_time(saying.minutes * 60)
            self.conductor.tick()
            if not saying.command:
                self._say(console, saying.words)
            elif not self._get_across(console, saying.words):
                self.stuck = f"{saying.words!r} was said {MOST_TRIES} times"
                return
            yield saying

    def _get_across(self, console: Console, words: str) -> bool:
        """Say a command until it is heard; take back what was heard wrong."""
        self.tally = replace(self.tally, said=self.tally.said + 1)
        for attempt in range(MOST_TRIES):
            before, wanted = self.conductor.state, self.conductor.grammar().match(words_of(words))
            if wanted is None:
                return False
            got = self._say(console, words, again=attempt > 0)
            if same_meaning(got, wanted.intents):
                self.tally = replace(self.tally, right=self.tally.right + (attempt == 0))
                return True
            self.tally = replace(self.tally, again=self.tally.again + 1, wrong=self.tally.wrong + bool(got))
            self._take_back(console, before)
        return False

    def _take_back(self, console: Console, before: JobState) -> None:
        """Undo what a misheard command has done, as a mechanic would, by saying so."""
        for _ in range(MOST_TRIES):
            back = way_back(before, self.conductor.state)
            if back is None:
                return
            self._say(console, back)

    def _say(self, console: Console, words: str, *, again: bool = False) -> tuple[Intent, ...]:
        """Say something against the noise, again more naturally; gives the intents that were accepted."""
        speaker = self.speech.speaker(natural=again)
        console.print(f"[bold cyan]   says[/]  {words} [dim]({speaker.name})[/]", highlight=False)
        heard = self.ears.hear(self.speech.said(words, speaker))
        return tuple(intent for each in heard if each.accepted for intent in each.intents)


def run_live(out: Path, *, engine: str | None, model: Path | None) -> None:
    """Work the demonstration job with the microphone and the loudspeaker of this machine."""
    doors = Doors(hear="mic", speak="voice", engine=engine, model=model)
    work_job(PROCEDURE, out / "jobs", doors, new=None, route=ROUTE)


def run_demo(
    console: Console, out: Path, *, engine: str | None, model: Path | None, snr_db: float, seed: int
) -> bool:
    """Run the demonstration, show it as it goes, and tell whether it reached the end of the job.

    Leaves replies.wav, the job's folder and its record in `out`. Raises AssistantError where nothing
    can be heard or written here.
    """
    with ExitStack() as stack:
        show = stack.enter_context(_progress(console))
        demo = _open(stack, show.console, out, engine=engine, model=model, snr_db=snr_db, seed=seed)
        task = show.add_task("the job", total=len(SHORT_ROUTE))
        for _ in demo.play(show.console):
            show.advance(task)
        closed = demo.conductor.state.closed
        records = write_record(demo.folder, out / "record")
    _tell(console, demo, closed=closed)
    console.print(f"replies: {out / 'replies.wav'}\njournal: {demo.folder.path / 'journal.sqlite'}")
    console.print(f"record:  {records[0]}")
    return closed


def _progress(console: Console) -> Progress:
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    return Progress(*columns, console=console, transient=True)


def _tell(console: Console, demo: "_Demo", *, closed: bool) -> None:
    """Tell how the hearing went, and where it failed if it did."""
    tally = demo.tally
    console.print(
        f"{tally.said} commands said: {tally.right} right at the first try, "
        f"{tally.again} times said again, {tally.wrong} heard wrong and taken back."
    )
    if not closed:
        console.print(
            f"The engine {demo.ears.ear.recogniser.engine.name} did not get to the end of the job: {demo.stuck}"
        )


def _open(
    stack: ExitStack,
    console: Console,
    out: Path,
    *,
    engine: str | None,
    model: Path | None,
    snr_db: float,
    seed: int,
) -> "_Demo":
    speech = Speech(speakers_here(), workshop(_NOISE_S, seed), snr_db, random.Random(seed))
    recogniser = open_recogniser(engine, model=model)
    today = datetime.now(UTC)
    _make(out)
    way, folder = open_job(
        PROCEDURE, out / "jobs", new=f"demo {today:%Y-%m-%d %H%M%S}", route=ROUTE, today=today
    )
    stack.enter_context(folder)
    mouth = VoiceMouth(open_voice(), Speaker(FileOutput(out / "replies.wav")), live=False)
    stack.callback(mouth.close)
    clock = MovedClock(today)
    conductor = Conductor(
        way, folder, mouth=mouth, book=load_phrasebook(), clock=clock, watchers=[ConsoleWatcher(console)]
    )
    stack.callback(conductor.close)
    console.print(
        f"[dim]hearing with {recogniser.engine.name}; {snr_db:g} dB above the noise of a workshop; "
        f"the mechanic's voices are synthetic[/]"
    )
    ears = Ears(Ear(recogniser=recogniser, grammar_now=conductor.grammar), conductor, clock)
    return _Demo(conductor, folder, ears, clock, speech)


def _make(out: Path) -> None:
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise AssistantError(
            f"the demonstration cannot be written here ({error.strerror})", where=str(out), do="give --out"
        ) from error
