"""The decision rule of ISO 14253-1: a value against its limits, with the uncertainty of its gauge.

Within the limits by at least the uncertainty, it conforms; outside by more than it, it does not; in the
zone between nothing is proved, and the one who has to prove it needs a better gauge or another way. (The
standard is not free to read; the zones are those of ILAC-G8:09/2019, 4.2.3, with a guard band as wide as
the uncertainty, whose two middle ones are one here.)
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from assistant.torque.units import Quantity

Verdict = Literal["in", "below", "above", "in doubt", "no limits"]
"""A value against its limits; in doubt where the gauge cannot tell, "no limits" where it has none."""

GOOD: tuple[Verdict, ...] = ("in", "no limits")
"""The verdicts that need no second word."""


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What a value must lie between; `doubt` is its expanded uncertainty, the same on both sides."""

    least: Quantity | None = None
    most: Quantity | None = None
    doubt: Quantity | None = None

    def __bool__(self) -> bool:
        return self.least is not None or self.most is not None


def judge(value: Quantity, limits: Limits) -> Verdict:
    """Judge a value. Raises TorqueError where it is a quantity of another kind than its limits."""
    if not limits:
        return "no limits"
    exact = value.exact(value.unit)
    doubt = limits.doubt.exact(value.unit) if limits.doubt else Fraction()
    low = limits.least.exact(value.unit) if limits.least else None
    high = limits.most.exact(value.unit) if limits.most else None
    if low is not None and exact < low - doubt:
        return "below"
    if high is not None and exact > high + doubt:
        return "above"
    sure = (low is None or exact >= low + doubt) and (high is None or exact <= high - doubt)
    return "in" if sure else "in doubt"
