"""Several readings of one thing: their mean, their spread, and how a value is rounded to be said.

The mean is what is judged. The gauge's uncertainty is not divided by the number of readings: most of it
(zero, calibration, temperature) is the same in all of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from math import isqrt
from typing import Final

from assistant.torque.units import Quantity

ENOUGH: Final = 3
"""From so many readings on a standard deviation says something."""

_FINEST: Final = {"um": 1, "thou": 2, "in": 6, "m": 6}
_USUAL: Final = 4
"""How many decimals are worth saying of a value that was worked out, by unit."""


@dataclass(frozen=True, kw_only=True)
class Series:
    """What several readings come to, in the unit of the first; `deviation` from three on."""

    mean: Quantity
    spread: Quantity
    deviation: Quantity | None = None


def series_of(readings: Sequence[Quantity]) -> Series:
    """Give mean, spread (largest less smallest) and the standard deviation of the sample (n - 1)."""
    unit, count = readings[0].unit, len(readings)
    exact = [reading.exact(unit) for reading in readings]
    mean = sum(exact, Fraction()) / count
    variance = sum(((each - mean) ** 2 for each in exact), Fraction()) / max(count - 1, 1)
    return Series(
        mean=quantity_of(mean, unit),
        spread=quantity_of(max(exact) - min(exact), unit),
        deviation=quantity_of(root(variance), unit) if count >= ENOUGH else None,
    )


def quantity_of(number: Fraction, unit: str) -> Quantity:
    """Make a quantity of an exact number, to 28 digits."""
    return Quantity(value=Decimal(1), unit=unit).scaled(number)


def root(number: Fraction) -> Fraction:
    """Give the square root to twenty decimals, rounded down; exact where it is a number of that many."""
    fine = 10**20
    return Fraction(isqrt(number.numerator * fine**2 // number.denominator), fine)


def readable(value: Quantity, readings: Sequence[Quantity] = ()) -> Quantity:
    """Round a value that was worked out to what can be followed; one that is shorter stays as it is.

    What comes of `readings` has one decimal more than they have. A turn keeps its fraction, which is said
    as one.
    """
    decimals = _FINEST.get(value.unit, _USUAL)
    if readings:
        decimals = min(decimals, max(_decimals(reading) for reading in readings) + 1)
    if value.unit == "turn" or _decimals(value) <= decimals:
        return value
    rounded = value.value.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_EVEN).normalize()
    return Quantity(value=Decimal(f"{rounded:f}"), unit=value.unit)


def _decimals(value: Quantity) -> int:
    exponent = value.value.as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0
