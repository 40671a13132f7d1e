"""Where a voice is heard: at a headset, at the bench, or from across the shop; for corpora that are to be measured on.

A room is its echo, noise that dies away by 60 dB in a stated time, behind the voice itself; distance is how far the
voice stands above that echo, and its level; a headset or a poor microphone is a narrower band. The training has its
own, drawn anew each time a clip is used (`sounds`); these are made once, and named. The ranges are common practice, no
source.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from assistant.sound import RATE, Samples

_Range = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """One way in which a voice is heard; ranges are drawn from evenly.

    `echo_s` is the time in which the room's echo dies away by 60 dB, `above_db` how far the voice is above it;
    `band_hz` the lowest and the highest tone, `level_db` the gain.
    """

    name: str
    echo_s: _Range
    above_db: _Range
    band_hz: tuple[_Range, _Range]
    level_db: _Range


ALL: Final = (
    Surroundings(
        name="headset",
        echo_s=(0.1, 0.2),
        above_db=(20, 30),
        band_hz=((100, 300), (3400, 7000)),
        level_db=(-3, 6),
    ),
    Surroundings(
        name="bench",
        echo_s=(0.2, 0.5),
        above_db=(6, 14),
        band_hz=((50, 120), (7000, 7900)),
        level_db=(-6, 0),
    ),
    Surroundings(
        name="across",
        echo_s=(0.4, 1.0),
        above_db=(-4, 3),
        band_hz=((50, 150), (4500, 7500)),
        level_db=(-20, -10),
    ),
)


def heard_in(samples: Samples, place: Surroundings, seed: int) -> Samples:
    """Give a voice, samples of shape (n,) at 16,000 a second, as it is heard there; longer by the room's echo."""
    rng = np.random.default_rng(seed)
    echo_s, above_db, level_db = (
        rng.uniform(*each) for each in (place.echo_s, place.above_db, place.level_db)
    )
    low_hz, high_hz = (rng.uniform(*each) for each in place.band_hz)
    size = len(samples) + round(echo_s * RATE)
    room = _room(echo_s, above_db, rng)
    tones_hz = np.fft.rfftfreq(2 * size, 1 / RATE)
    band = (tones_hz >= low_hz) & (tones_hz <= high_hz)
    spectrum = np.fft.rfft(samples, 2 * size) * np.fft.rfft(room, 2 * size) * band
    sound = np.fft.irfft(spectrum)[:size] * 10 ** (level_db / 20)
    peak = max(float(np.max(np.abs(sound), initial=0.0)), 1.0)
    found: Samples = (sound / peak).astype(np.float32)
    return found


def _room(echo_s: float, above_db: float, rng: np.random.Generator) -> Samples:
    """Give what a click becomes in a room: itself, and an echo that lies so far below it in energy."""
    time_s = np.arange(round(echo_s * RATE)) / RATE
    echo = rng.standard_normal(len(time_s)) * 10 ** (-3 * time_s / echo_s)
    echo *= 10 ** (-above_db / 20) / np.sqrt(np.sum(np.square(echo)))
    echo[0] += 1.0
    room: Samples = echo.astype(np.float32)
    return room
