"""Numbers with units that are added, multiplied and divided, exactly, as formulas need it.

An angle is a kind of its own here, and does not vanish in a product as it does in a coherent system: a
pitch is written "1.5 mm / 1 turn", so that a sixth of a turn of it is 0.25 mm and never that times two pi.
"""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from assistant.errors import TorqueError
from assistant.measures.readings import quantity_of
from assistant.torque.spellings import UNITS
from assistant.torque.units import Quantity

Kind = tuple[tuple[str, int], ...]
"""Powers of the base kinds, by name: an area is (("length", 2),)."""

NUMBER: Final[Kind] = ()

_BASES: Final[dict[str, tuple[str, Fraction, Kind]]] = {
    "length": ("mm", Fraction(1), (("length", 1),)),
    "angle": ("turn", Fraction(1), (("angle", 1),)),
    "time": ("min", Fraction(1), (("time", 1),)),
    "force": ("N", Fraction(1), (("force", 1),)),
    "torque": ("N.m", Fraction(1000), (("force", 1), ("length", 1))),
    "pressure": ("MPa", Fraction(1), (("force", 1), ("length", -2))),
    "volume": ("ml", Fraction(1000), (("length", 3),)),
    "speed": ("rpm", Fraction(1), (("angle", 1), ("time", -1))),
    "mass": ("kg", Fraction(1), (("mass", 1),)),
    "voltage": ("V", Fraction(1), (("voltage", 1),)),
    "share": ("%", Fraction(1, 100), NUMBER),
}
"""Each dimension's unit here, how many of the base (mm, turn, min, N, kg, V) that is, and its kind."""

_NAMES: Final = {kind: dimension for dimension, (_, _, kind) in _BASES.items() if kind} | {NUMBER: "number"}


@dataclass(frozen=True)
class Amount:
    """A number of base units of a kind; no number where only the kind is known, as at load."""

    number: Fraction | None
    kind: Kind = NUMBER

    def __add__(self, other: "Amount") -> "Amount":
        return _joined(self, other, "added to", lambda a, b: a + b)

    def __sub__(self, other: "Amount") -> "Amount":
        return _joined(self, other, "taken from", lambda a, b: a - b)

    def __mul__(self, other: "Amount") -> "Amount":
        return Amount(_apply(self, other, lambda a, b: a * b), _powers(self.kind, other.kind, 1))

    def __truediv__(self, other: "Amount") -> "Amount":
        if other.number == 0:
            raise TorqueError("something is divided by nothing")
        return Amount(_apply(self, other, lambda a, b: a / b), _powers(self.kind, other.kind, -1))

    def __neg__(self) -> "Amount":
        return Amount(None if self.number is None else -self.number, self.kind)

    def __pos__(self) -> "Amount":
        return self

    def __abs__(self) -> "Amount":
        return Amount(None if self.number is None else abs(self.number), self.kind)

    @property
    def called(self) -> str:
        """Name its kind: a dimension of the trade, or its powers."""
        powers = " x ".join(f"{name}^{power}" for name, power in self.kind)
        return _NAMES.get(self.kind, powers)

    def quantity(self, unit: str) -> Quantity:
        """Give it in a unit. Raises TorqueError where it is of another kind; it must have a number."""
        one = amount_of(Quantity(value=Decimal(1), unit=unit))
        if one.kind != self.kind:
            raise TorqueError(f"it comes out as a {self.called} and not as a {UNITS[unit].dimension}")
        assert self.number is not None  # noqa: S101  (the caller has all inputs)
        assert one.number  # noqa: S101  (no unit is nothing)
        return quantity_of(self.number / one.number, unit)


def kind_of(dimension: str) -> Kind:
    """Give the kind of a dimension. Raises TorqueError for a temperature, which has no zero to add from."""
    if dimension not in _BASES:
        raise TorqueError(f"a {dimension} cannot be worked with")
    return _BASES[dimension][2]


def amount_of(quantity: Quantity) -> Amount:
    """Make an amount of a quantity, exactly. Raises TorqueError for a temperature."""
    kind = kind_of(quantity.dimension)
    unit, factor, _ = _BASES[quantity.dimension]
    return Amount(quantity.exact(unit) * factor, kind)


def least_of(*amounts: Amount) -> Amount:
    """Give the smallest of several of one kind."""
    return _chosen(min, amounts)


def most_of(*amounts: Amount) -> Amount:
    """Give the largest of several of one kind."""
    return _chosen(max, amounts)


def mean_of(*amounts: Amount) -> Amount:
    """Give the mean of several of one kind."""
    total, *others = amounts
    for each in others:
        total += each
    return total / Amount(Fraction(len(amounts)))


def _chosen(choose: Callable[..., Fraction], amounts: tuple[Amount, ...]) -> Amount:
    first = amounts[0]
    if odd := [each for each in amounts if each.kind != first.kind]:
        raise TorqueError(f"a {first.called} and a {odd[0].called} cannot be compared")
    numbers = [each.number for each in amounts if each.number is not None]
    return Amount(choose(numbers) if len(numbers) == len(amounts) else None, first.kind)


def _apply(one: Amount, other: Amount, act: Callable[[Fraction, Fraction], Fraction]) -> Fraction | None:
    return None if one.number is None or other.number is None else act(one.number, other.number)


def _joined(one: Amount, other: Amount, how: str, act: Callable[[Fraction, Fraction], Fraction]) -> Amount:
    if one.kind != other.kind:
        raise TorqueError(f"a {one.called} and a {other.called} cannot be {how} one another")
    return Amount(_apply(one, other, act), one.kind)


def _powers(one: Kind, other: Kind, sign: int) -> Kind:
    powers = dict(one)
    for name, power in other:
        powers[name] = powers.get(name, 0) + sign * power
    return tuple(sorted((name, power) for name, power in powers.items() if power))
