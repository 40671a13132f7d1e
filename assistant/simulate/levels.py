"""How loud speech is while it lasts: the active speech level of ITU-T Recommendation P.56, method B.

The pauses between words say nothing about how loud a speaker is, so the mean power of a recording
does not either. Method B smooths the rectified signal twice, counts for each of a row of thresholds
how long the envelope is above it (with a hangover that bridges short gaps), and takes the threshold
that lies a fixed margin below the mean level of the time so counted.
"""

import math
from typing import Final

import numpy as np
import numpy.typing as npt

from assistant.sound import RATE, Samples

_Reals = npt.NDArray[np.float64]

# ITU-T P.56 (12/2011), clause 8.3: the values of the parameters.
_SMOOTHING_S: Final = 0.03
_HANGOVER_S: Final = 0.2
_MARGIN_DB: Final = 15.9

_THRESHOLDS: Final = tuple(2.0**power for power in range(-15, 0))
"""Half of full scale and downwards in steps of 6 dB, as a 16-bit meter has them."""

_BLOCK: Final = 4096
SILENT_DB: Final = -100.0
"""What is reported where there is no speech at all."""


def rms_level(samples: Samples) -> float:
    """Give the mean power of samples of shape (n,), in dB relative to a full-scale square wave."""
    power = float(np.mean(np.square(samples, dtype=np.float64))) if len(samples) else 0.0
    return _decibels(power)


def active_level(samples: Samples, rate: int = RATE) -> float:
    """Give the active speech level of samples of shape (n,), in dB relative to a full-scale square wave.

    ITU-T P.56, method B, without its band-pass filter: the samples are taken as they are.
    Silence gives SILENT_DB.
    """
    energy = float(np.sum(np.square(samples, dtype=np.float64)))
    if energy == 0.0:
        return SILENT_DB
    envelope = _smoothed(_smoothed(np.abs(samples, dtype=np.float64), rate), rate)
    lower: tuple[float, float] | None = None
    for threshold in _THRESHOLDS:
        active = _active_count(envelope, threshold, math.ceil(_HANGOVER_S * rate))
        if active == 0:
            break
        level = _decibels(energy / active)
        margin = level - 2 * _decibels(threshold)
        if margin <= _MARGIN_DB:
            return _between(lower, (level, margin))
        lower = (level, margin)
    return lower[0] if lower else SILENT_DB


def _between(lower: tuple[float, float] | None, upper: tuple[float, float]) -> float:
    """Give the level where the margin is the wanted one, between two thresholds."""
    if lower is None:
        return upper[0]
    share = (lower[1] - _MARGIN_DB) / (lower[1] - upper[1])
    return lower[0] + share * (upper[0] - lower[0])


def _active_count(envelope: _Reals, threshold: float, hangover: int) -> int:
    places = np.arange(len(envelope))
    last_above = np.maximum.accumulate(np.where(envelope >= threshold, places, -hangover - 1))
    return int(np.count_nonzero(places - last_above <= hangover))


def _smoothed(values: _Reals, rate: int) -> _Reals:
    """Average exponentially: y[n] = g y[n-1] + (1-g) x[n], a block at a time so that numpy can do it."""
    keep = math.exp(-1 / (_SMOOTHING_S * rate))
    powers = keep ** np.arange(_BLOCK + 1)
    result = np.empty_like(values)
    before = 0.0
    for start in range(0, len(values), _BLOCK):
        block = values[start : start + _BLOCK]
        decay = powers[: len(block)]
        sums = np.cumsum(block / decay) * decay
        result[start : start + len(block)] = (1 - keep) * sums + before * powers[1 : len(block) + 1]
        before = float(result[start + len(block) - 1])
    return result


def _decibels(power: float) -> float:
    return 10 * math.log10(power) if power > 0 else SILENT_DB
