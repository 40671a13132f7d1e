"""Running a job to its end, or to the end of what is heard: lines of text, a recording, a microphone."""

import re
from collections.abc import Callable, Iterable, Sequence
from typing import Final

from assistant.hearing.ear import OwnVoice, listen
from assistant.hearing.endpointing import Endpointer
from assistant.hearing.floor import NoiseFloor
from assistant.hearing.grammar import words_of
from assistant.hearing.press import Press
from assistant.hearing.recogniser import Recogniser, typed
from assistant.hearing.sources import Source
from assistant.sound import RATE, Samples
from assistant.speaking.mouth import Mouth
from assistant.torque.units import read_quantity
from assistant.work.aid import Aid
from assistant.work.clock import WallClock
from assistant.work.conductor import Conductor

_LATER: Final = re.compile(r"\((?P<time>.+) later\)")
"""A typed line in brackets is not speech: it lets time pass, so that waits can be tried out."""

_TICK_S: Final = 1.0


def run_text(conductor: Conductor, lines: Iterable[str], clock: WallClock) -> None:
    """Take one utterance a line until the job is closed or the lines end; an empty line only lets it look up."""
    conductor.begin()
    for line in lines:
        if later := _LATER.fullmatch(line.strip()):
            clock.pass_time(float(read_quantity(later["time"], "time").exact("s")))
        elif words := words_of(line):
            _take_typed(conductor, words, line.strip())
        conductor.look_at_name()
        conductor.tick()
        if conductor.state.closed:
            return


def _take_typed(conductor: Conductor, words: Sequence[str], line: str) -> None:
    """Take a line: a command, or while a note is made its text, as it was typed."""
    heard = typed(words, conductor.grammar())
    if conductor.state.open_note is not None and not heard.accepted:
        conductor.written(line)
    else:
        conductor.take(heard)


class _MouthHeard(OwnVoice):
    """Tells hearing whether the mouth is sounding, by asking it."""

    def __init__(self, mouth: Mouth, conductor: Conductor) -> None:
        super().__init__()
        self._mouth = mouth
        self._conductor = conductor

    @property
    def is_on(self) -> bool:
        """Whether it is speaking."""
        return self._mouth.speaking

    @property
    def words(self) -> tuple[str, ...]:
        """What it says, or said last."""
        return words_of(self._conductor.saying)


def run_sound(
    conductor: Conductor,
    source: Source,
    recogniser: Recogniser,
    mouth: Mouth,
    *,
    passed: Callable[[float], None] = lambda _seconds: None,
    aids: Sequence[Aid] = (),
    press: Press | None = None,
    endpointer: Endpointer | None = None,
    floor: NoiseFloor | None = None,
) -> None:
    """Take what a source brings until the job is closed or the sound ends.

    `passed` is told the time in the stream, in seconds, so that a recording can have a clock of its own.
    The `aids` look on; `press` is the key to talk; `endpointer` cuts the stream, and `floor` knows how
    loud the mechanic is, where others look at them too.
    """
    conductor.begin()
    ticked = 0.0

    def on_block(block: Samples, start_s: float) -> None:
        nonlocal ticked
        passed(start_s + len(block) / RATE)
        conductor.sound(block)
        for aid in aids:
            aid.look(block, conductor)
        if start_s - ticked >= _TICK_S:
            ticked = start_s
            conductor.tick()

    for heard in listen(
        source,
        recogniser,
        conductor.grammar,
        stop_words=conductor.stop_words(),
        own_voice=_MouthHeard(mouth, conductor),
        on_block=on_block,
        on_partial=conductor.hearing,
        press=press,
        endpointer=endpointer,
        grammar_pressed=conductor.grammar_pressed,
        floor=floor,
    ):
        for aid in aids:
            aid.heard(heard)
        conductor.take(heard)
        if conductor.state.closed:
            return
