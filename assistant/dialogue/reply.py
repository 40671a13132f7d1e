"""What the assistant answers, before it has words: lines by key, a tone, and what the doors shall do."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, Union

from assistant.torque.units import Quantity

Tone = Literal["heard", "recorded", "not understood", "time is up"]
"""Short signals that save words; `speaking.tones` gives each its sound."""

Slot = Union[str, int, Quantity, "Line", tuple["Slot", ...]]


@dataclass(frozen=True)
class Line:
    """One thing to say: the key of a phrase, and what fills its slots."""

    key: str
    slots: Mapping[str, Slot] = field(default_factory=dict)


@dataclass(frozen=True)
class PlayNote:
    """A spoken note to be played at this place; `file` is in the job's folder, `pace` 1 as it was spoken."""

    file: str
    pace: float = 1.0


Effect = Literal["begin-note", "end-note", "hush"]
"""What a door shall do, besides speaking: record a note, end it, or fall silent at once."""


@dataclass(frozen=True, kw_only=True)
class Reply:
    """A whole answer: what is said and played in order, the tone before it, and the effects.

    A `passing` one ("say again", "louder") is not what "repeat" brings back.
    """

    parts: tuple[Line | PlayNote, ...] = ()
    tone: Tone | None = None
    effects: tuple[Effect, ...] = ()
    passing: bool = False
