"""Short tones that save words: heard, not understood, recorded, time is up.

They differ in pitch movement and rhythm, never in loudness alone, so that they are told apart from
across a shop: one short rising note, two low equal ones, three quick rising ones, and a high pair
that repeats. The notes lie between 1 and 3 kHz, above a compressor's hum and below most hiss, and each
note has raised-cosine edges so that nothing clicks.
"""

from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from assistant.errors import SpeakingError
from assistant.sound import RATE, Samples, Sound, join, silence

_LEVEL: Final = 0.5
_EDGE_S: Final = 0.012
_AFTER_S: Final = 0.08
"""Silence at the end of a tone, so that it does not cover the first sound of a word."""
_OVERTONE: Final = 0.25
"""A second harmonic gives the note an edge in noise; it is never the higher part of what is heard."""


@dataclass(frozen=True, kw_only=True)
class _Note:
    """One note, gliding from one frequency to another, and the rest after it."""

    from_hz: float
    to_hz: float
    lasts_s: float
    rest_s: float = 0.0


def _even(hertz: float, lasts_s: float, rest_s: float = 0.0) -> _Note:
    return _Note(from_hz=hertz, to_hz=hertz, lasts_s=lasts_s, rest_s=rest_s)


_TUNES: Final[dict[str, tuple[_Note, ...]]] = {
    "heard": (_Note(from_hz=1250, to_hz=1900, lasts_s=0.09),),
    "not understood": (_even(1000, 0.14, 0.06), _even(1000, 0.16)),
    "recorded": (_even(1500, 0.06, 0.03), _even(2000, 0.06, 0.03), _even(2500, 0.10)),
    "time is up": (_even(2600, 0.12, 0.03), _even(1700, 0.12, 0.12)) * 2,
}

NAMES: Final = tuple(_TUNES)
"""The tones there are."""


@cache
def tone(name: str) -> Sound:
    """Give the tone of that name. Raises SpeakingError where there is none."""
    if name not in _TUNES:
        raise SpeakingError(f"there is no tone called {name!r}", do=f"name one of {', '.join(NAMES)}")
    return join([*(_played(note) for note in _TUNES[name]), silence(_AFTER_S)])


def _played(note: _Note) -> Sound:
    count = round(note.lasts_s * RATE)
    hertz = np.linspace(note.from_hz, note.to_hz, count)
    phase = 2 * np.pi * np.cumsum(hertz) / RATE
    wave = (np.sin(phase) + _OVERTONE * np.sin(2 * phase)) / (1 + _OVERTONE)
    sounding = Sound((_LEVEL * wave * _edges(count)).astype(np.float32), RATE)
    return join([sounding, silence(note.rest_s)])


def _edges(count: int) -> Samples:
    """Give an envelope of shape (count,) that rises and falls as a raised cosine."""
    ramp = round(_EDGE_S * RATE)
    rise = (1 - np.cos(np.pi * (np.arange(ramp) + 0.5) / ramp)) / 2
    return np.concatenate([rise, np.ones(count - 2 * ramp), rise[::-1]]).astype(np.float32)
