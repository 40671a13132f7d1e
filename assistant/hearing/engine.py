"""What a recogniser must do to be used here: the one protocol behind which engines stand.

An engine is told which grammar is active and is given one utterance at a time (cut out by
voice-activity detection). It proposes; `hearing.recogniser` lets the grammar and the
acceptance room decide.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Protocol

from assistant.hearing.grammar import Grammar
from assistant.sound import Samples


@dataclass(frozen=True, kw_only=True)
class Guess:
    """One thing an engine may have heard, best first in a list of them.

    `words` are lower case, as the grammar spells them. `score` is the engine's own measure, the
    higher the surer; only acceptance, which knows each engine's scale, may compare it with a number.
    """

    words: tuple[str, ...]
    score: float


@dataclass(frozen=True, kw_only=True)
class Decoded:
    """What an engine made of one utterance.

    `guesses` need not be sentences of the grammar; no two have the same words. `free` is what the
    engine hears when nothing restricts it, with its score on the same scale, where it can tell
    cheaply; None where not (its `words` may be empty where it hears sounds, not words).
    `signals` is further evidence by name, which acceptance weighs if its table for the engine says so.
    `decode_s` is the time it took, in seconds.
    """

    guesses: tuple[Guess, ...]
    free: Guess | None = None
    signals: Mapping[str, float] = field(default_factory=dict)
    decode_s: float = 0.0


class Engine(Protocol):
    """A recogniser, made by its entry in `hearing.engines`."""

    name: str

    def decode(self, samples: Samples, grammar: Grammar) -> Decoded:
        """Decode one utterance: samples of shape (n,), float32, 16,000 a second.

        Whatever must be prepared for a grammar is prepared once and kept, by the grammar's identity.
        Raises HearingError where the grammar has words that the engine cannot hear.
        """
        ...

    def unknown(self, words: Iterable[str]) -> tuple[str, ...]:
        """List those of the words that it cannot hear, so that a job can be refused before it begins."""
        ...
