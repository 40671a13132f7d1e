"""How a known voice reads, which settles a doubt: how this mechanic said each command when reading it.

A reading is kept as its course through the mel cepstrum, never as sound. What is heard is warped in time onto
each reading; the nearest counts where no other is nearly as near. Asked only where the engine is in doubt.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
import numpy.typing as npt

from assistant.sound import RATE, Samples

Course = npt.NDArray[np.float32]
"""Mel cepstrum in time: shape (n, 12), 50 rows a second, each coefficient at mean 0 and deviation 1."""

LEAST_MARGIN: Final = 0.05
"""By how much the nearest reading must be nearer than that of another command, for each step of the way."""

_FRAME: Final = 400  # 25 ms
_HOP: Final = 320  # 20 ms
_BINS: Final = 512
_BANDS: Final = 26
_COEFFICIENTS: Final = 12
_LOWEST_HZ, _HIGHEST_HZ = 100.0, 7000.0
_FLOOR: Final = 1e-6


def course(samples: Samples) -> Course | None:
    """Give the course of samples of shape (n,); None where they are too short for one."""
    if len(samples) < 2 * _FRAME:
        return None
    frames = np.lib.stride_tricks.sliding_window_view(samples, _FRAME)[::_HOP] * np.hanning(_FRAME)
    power = np.abs(np.fft.rfft(frames, _BINS)) ** 2
    cepstrum = np.log(power @ _bands().T + _FLOOR) @ _cosines().T
    levelled = (cepstrum - cepstrum.mean(axis=0)) / (cepstrum.std(axis=0) + 1e-3)
    found: Course = levelled.astype(np.float32)
    return found


def distance(one: Course, other: Course) -> float:
    """Give the least distance between two courses, over all ways to warp one onto the other, for each step."""
    apart = np.sqrt(((one[:, None] - other[None]) ** 2).sum(axis=-1))
    before = np.full(len(other) + 1, np.inf)
    before[0] = 0.0
    for row in apart:
        now = np.full_like(before, np.inf)
        best = np.minimum(before[1:], before[:-1])
        for place, step in enumerate(row):
            now[place + 1] = step + min(best[place], now[place])
        before = now
    return float(before[-1] / (len(one) + len(other)))


@dataclass(frozen=True)
class Templates:
    """The readings of one voice, by the words that were read."""

    courses: Mapping[str, Course]

    def nearest(self, samples: Samples) -> str:
        """Give the words that the speech is nearest to; "" where it is near to several or to none."""
        heard = course(samples)
        if heard is None or len(self.courses) < 2:  # noqa: PLR2004 - one reading is always the nearest
            return ""
        ranked = sorted((distance(heard, read), words) for words, read in self.courses.items())
        (nearest, words), (second, _) = ranked[:2]
        return words if second - nearest >= LEAST_MARGIN else ""


@cache
def _bands() -> npt.NDArray[np.float64]:
    """Give the triangular bands, evenly spaced in mel (O'Shaughnessy's formula), shape (26, 257)."""
    low, high = (2595 * np.log10(1 + hertz / 700) for hertz in (_LOWEST_HZ, _HIGHEST_HZ))
    edges = 700 * (10 ** (np.linspace(low, high, _BANDS + 2) / 2595) - 1)
    hertz = np.linspace(0, RATE / 2, _BINS // 2 + 1)
    rising = (hertz - edges[:-2, None]) / (edges[1:-1] - edges[:-2])[:, None]
    falling = (edges[2:, None] - hertz) / (edges[2:] - edges[1:-1])[:, None]
    bands: npt.NDArray[np.float64] = np.clip(np.minimum(rising, falling), 0, None)
    return bands


@cache
def _cosines() -> npt.NDArray[np.float64]:
    """Give the cosines of the cepstrum without its level, shape (12, 26)."""
    order = np.arange(1, _COEFFICIENTS + 1)[:, None]
    cosines: npt.NDArray[np.float64] = np.sqrt(2 / _BANDS) * np.cos(
        np.pi * order * (np.arange(_BANDS) + 0.5) / _BANDS
    )
    return cosines
