"""How the mechanic of a rehearsal is heard; without sound, every word as it was meant."""

from collections.abc import Sequence
from typing import Final, Protocol

from assistant.hearing.grammar import words_of
from assistant.hearing.recogniser import Recognised, typed
from assistant.work.clock import MovedClock
from assistant.work.conductor import Conductor

WORDS_A_SECOND: Final = 2.5
"""How quickly is spoken; common practice, no source."""


class Door(Protocol):
    """How the mechanic is heard."""

    def hear(self, conductor: Conductor, clock: MovedClock, words: str) -> Sequence[Recognised]:
        """Let the job hear some words and act on them; time passes as long as they take."""
        ...


class TypedDoor:
    """Hears every word as it was meant."""

    def hear(self, conductor: Conductor, clock: MovedClock, words: str) -> Sequence[Recognised]:
        """Let the job have the words as if they had been typed."""
        clock.pass_time(len(words.split()) / WORDS_A_SECOND)
        heard = typed(words_of(words), conductor.grammar())
        conductor.take(heard)
        return (heard,)
