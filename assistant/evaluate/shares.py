"""Shares and rates with the range in which the truth lies, 95 times in a hundred.

Wilson's score interval for a share (E. B. Wilson, 1927; from memory); the exact Poisson bound for a rate, which for
no event in H hours is 3/H. Both take the trials for independent, which clips of one speaker are not quite.
"""

import math
from dataclasses import dataclass
from typing import Final

_Z: Final = 1.959964
_LEFT_OUT: Final = 0.05
_HALVINGS: Final = 60


@dataclass(frozen=True)
class Share:
    """A share in per cent, with the ends of its range."""

    share: float
    low: float
    high: float


def wilson(hits: int, trials: int) -> Share | None:
    """Give the share of hits in trials; None where there were none."""
    if not trials:
        return None
    share, spread = hits / trials, _Z**2 / trials
    middle = (share + spread / 2) / (1 + spread)
    half = _Z / (1 + spread) * math.sqrt(share * (1 - share) / trials + spread / (4 * trials))
    low, high = max(0.0, middle - half), min(1.0, middle + half)
    return Share(100 * share, 100 * low if hits else 0.0, 100 * high if hits < trials else 100.0)


def most_per_hour(events: int, hours: float) -> float | None:
    """Give the upper bound, one-sided at 95 %, of a rate an hour; None where nothing was heard."""
    if hours <= 0:
        return None
    low, high = 0.0, 10.0 * (events + 1)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _at_most(events, middle) > _LEFT_OUT else (low, middle)
    return high / hours


def _at_most(events: int, mean: float) -> float:
    """Give the probability of at most so many events of a Poisson distribution."""
    if mean == 0:
        return 1.0
    return sum(math.exp(k * math.log(mean) - mean - math.lgamma(k + 1)) for k in range(events + 1))
