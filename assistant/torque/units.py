"""Quantities as people write them: "12 N.m", "110 in-lb", "0.035 in", "quarter turn", "45 min".

A number without its unit is an error everywhere in a procedure, so a small reader stands in
front of pint: it knows the units of this trade and how they are commonly spelt, and tells what
to write where it does not. pint supplies the factors.
"""

import difflib
import re
import unicodedata
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from functools import cache
from typing import Annotated, Any, TypeVar

import pint
from pydantic import (
    BaseModel,
    ConfigDict,
    GetJsonSchemaHandler,
    ValidatorFunctionWrapHandler,
    WrapValidator,
    field_validator,
    model_serializer,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from assistant.errors import TorqueError
from assistant.torque.spellings import EXAMPLES, FRACTIONS, SYMBOLS, UNITS, plain

_R = TypeVar("_R")

# Its own context, because the ambient one can be changed by anybody in the process.
_EXACT = Context(prec=28, rounding=ROUND_HALF_UP)


_NUMBER = r"[-+]?(?:\d+ \d+/\d+|\d+/\d+|\d+\.\d*|\.\d+|\d+)"
_WRITTEN = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<unit>.*)", re.DOTALL)
_IN_WORDS = re.compile(
    rf"(?:(?P<number>{_NUMBER})\s+|an?\s+)?(?P<part>{'|'.join(sorted(FRACTIONS, key=len, reverse=True))})s?"
    r"[\s-]+(?:of\s+)?(?:an?\s+)?(?P<unit>\S.*)",
    re.IGNORECASE,
)
_MOST_DIGITS = 12
_BARE_POUNDS = ("lb", "pound")  # a mechanic's "eighteen pounds" is a torque, and nobody can tell which
# Fractions of a turn that people say; written back as they were read.
_SPOKEN_DENOMINATORS = (2, 3, 4, 6, 8, 12)


@cache
def _registry() -> "pint.UnitRegistry[Any]":
    """Load pint's units once, and only when something is converted.

    Fractions, not floats or Decimals: every factor here is rational (the inch, the pound and
    standard gravity are exact by definition, and pi cancels between angles), so conversions there
    and back give the very same number, and a value that lies half way between two settings of a
    wrench is seen to lie there.
    """
    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(non_int_type=Fraction)
    registry.define("flat = turn / 6")  # of a hexagon
    return registry


def _as_decimal(number: Fraction) -> Decimal:
    return _EXACT.divide(Decimal(number.numerator), Decimal(number.denominator))


class Quantity(BaseModel):
    """A number with its unit, read from text and written back as text.

    `value` keeps the digits as they were written; `unit` is one of the canonical symbols.
    """

    model_config = ConfigDict(frozen=True)

    value: Decimal
    unit: str

    @model_validator(mode="before")
    @classmethod
    def _from_text(cls, given: Any) -> Any:
        if isinstance(given, str | int | float | Decimal):
            return dict(zip(("value", "unit"), _as_value_error(_read, str(given)), strict=True))
        return given

    @field_validator("value")
    @classmethod
    def _finite(cls, value: Decimal) -> Decimal:
        if not _is_meant(value):
            raise ValueError(f"{value} is no value that can be meant; write a number")
        return value

    @field_validator("unit")
    @classmethod
    def _known(cls, unit: str) -> str:
        return _as_value_error(_symbol, unit, f"the unit {unit}")

    @model_serializer
    def _to_text(self) -> str:
        return str(self)

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core_schema: CoreSchema, handler: GetJsonSchemaHandler, /
    ) -> JsonSchemaValue:
        """Describe it to editors as what an author writes: text."""
        del core_schema, handler
        return {
            "type": "string",
            "title": "Quantity",
            "examples": ["12 N.m", "0.035 in", "1/4 turn", "45 min"],
        }

    def __str__(self) -> str:
        return f"{_spoken_fraction(self.value) if self.unit == 'turn' else f'{self.value:f}'} {self.unit}"

    def __lt__(self, other: "Quantity") -> bool:
        return Fraction(self.value) < other.exact(self.unit)

    def __le__(self, other: "Quantity") -> bool:
        return Fraction(self.value) <= other.exact(self.unit)

    @property
    def dimension(self) -> str:
        """What it measures: torque, length, angle, time, share, force, pressure, ..."""
        return UNITS[self.unit].dimension

    def exact(self, unit: str) -> Fraction:
        """Give the exact number of `unit`s; TorqueError where it measures something else."""
        symbol = _symbol(unit, f"the unit {unit}")
        if symbol == self.unit:
            return Fraction(self.value)
        source, target = UNITS[self.unit], UNITS[symbol]
        if source.dimension != target.dimension:
            raise TorqueError(
                f"{self} is a {source.dimension} and not a {target.dimension}",
                do=f"ask for a unit of {source.dimension}, such as {EXAMPLES[source.dimension]}",
            )
        quantity = _registry().Quantity(Fraction(self.value), source.pint_name)
        return Fraction(quantity.to(target.pint_name).magnitude)

    def to(self, unit: str) -> "Quantity":
        """Convert by the exact factor, to 28 digits; TorqueError where it measures something else."""
        symbol = _symbol(unit, f"the unit {unit}")
        if symbol == self.unit:
            return self
        return Quantity(value=_as_decimal(self.exact(symbol)), unit=symbol)

    def scaled(self, factor: Fraction | Decimal | int) -> "Quantity":
        """Multiply, keeping the unit."""
        return Quantity(value=_as_decimal(Fraction(self.value) * Fraction(factor)), unit=self.unit)


def _is_meant(value: Decimal) -> bool:
    return value.is_finite() and abs(value.adjusted()) <= _MOST_DIGITS


def _spoken_fraction(value: Decimal) -> str:
    near = Fraction(value).limit_denominator(max(_SPOKEN_DENOMINATORS))
    if 0 < near < 1 and near.denominator in _SPOKEN_DENOMINATORS and _as_decimal(near) == value:
        return str(near)
    return f"{value:f}"


def _as_value_error(function: Callable[..., _R], *args: str) -> _R:
    """Let pydantic collect a TorqueError among its findings, with its place in the file."""
    try:
        return function(*args)
    except TorqueError as error:
        raise ValueError(str(error)) from error


def _symbol(unit: str, what: str, dimension: str = "torque") -> str:
    spelling = plain(unit)
    if spelling in SYMBOLS:
        return SYMBOLS[spelling]
    if spelling in _BARE_POUNDS:
        raise TorqueError(f"{what} may mean two torques", do="write lbf.ft or lbf.in, or lbf for a force")
    likely = [known for known in SYMBOLS if len(known) > 1]
    near = difflib.get_close_matches(spelling, likely, n=1, cutoff=0.7)
    wanted = SYMBOLS[near[0]] if near else EXAMPLES.get(dimension, "N.m")
    raise TorqueError(f"{what} is not known", do=f"write {wanted} if you mean that")


def _number(written: str) -> Fraction:
    whole, _, part = written.rpartition(" ")
    try:
        return Fraction(part) if not whole else Fraction(whole) + Fraction(part)
    except ZeroDivisionError:
        raise TorqueError(f"{written} divides by zero", do="write a number, such as 1/4") from None


def _with_plain_fractions(text: str) -> str:
    """Write "1½" and "1-1/2", as rules and drawings have them, as "1 1/2"."""
    spaced = re.sub(r"(\d)-(\d+/\d)", r"\1 \2", text)
    split = re.sub(r"(\d)(?=[\u00bc-\u00be\u2150-\u215e])", r"\1 ", spaced)
    return unicodedata.normalize("NFKC", split).replace("\u2044", "/")


def _read(text: str, dimension: str = "torque") -> tuple[Decimal, str]:
    """Split text into a value and a canonical unit; `dimension` only chooses the example shown."""
    clean = _with_plain_fractions(text.strip().replace("\N{MINUS SIGN}", "-"))
    example = EXAMPLES.get(dimension, "N.m")
    if words := _IN_WORDS.fullmatch(clean):
        times = _number(words["number"] or "1") * Fraction(FRACTIONS[words["part"].casefold()])
        return _as_decimal(times), _symbol(words["unit"], f"the unit in {text!r}", "angle")
    written = _WRITTEN.fullmatch(clean)
    if not written:
        raise TorqueError(f"{text!r} is not a number with a unit", do=f"write it so: 12 {example}")
    number, unit = written["number"], written["unit"]
    if not unit:
        raise TorqueError(f"{number} is a bare number", do=f"write its unit, such as {number} {example}")
    if unit.startswith(","):
        raise TorqueError(f"{text!r} has a comma in its number", do="write the decimals after a point")
    value = _as_decimal(_number(number)) if "/" in number else Decimal(number)
    return value, _symbol(unit, f"the unit {unit!r} of {text!r}", dimension)


def read_quantity(text: str, dimension: str | None = None) -> Quantity:
    """Read "12 N.m" and the like; with `dimension`, refuse what measures something else.

    Raises TorqueError saying what is wrong and what to write.
    """
    value, unit = _read(text, dimension or "torque")
    if not _is_meant(value):
        raise TorqueError(
            f"{text!r} is no value that can be meant", do="count its digits, and write it again"
        )
    quantity = Quantity(value=value, unit=unit)
    return quantity if dimension is None else _of(dimension, quantity)


def _of(dimension: str, quantity: Quantity) -> Quantity:
    if quantity.dimension != dimension:
        raise TorqueError(
            f"{quantity} is a {quantity.dimension} where a {dimension} is needed",
            do=f"write it in {EXAMPLES[dimension]}",
        )
    return quantity


def _checked(dimension: str, *, above: int | None = None, most: int | None = None) -> WrapValidator:
    """Make the check behind the field types below: the dimension, and a value above `above` up to `most`."""

    def check(given: Any, read: ValidatorFunctionWrapHandler) -> Quantity:
        if isinstance(given, int | float | str) and not isinstance(given, bool):
            _as_value_error(_read, str(given), dimension)  # told with an example of its own kind
        quantity: Quantity = read(given)
        _as_value_error(_of, dimension, quantity)  # type: ignore[arg-type]
        if above is not None and quantity.value <= above:
            raise ValueError(f"{quantity} is nothing; write a {dimension} above zero")
        if most is not None and quantity.value > most:
            raise ValueError(f"{quantity} is more than all; write a {dimension} of at most {most}")
        return quantity

    return WrapValidator(check)


#: Field types for pydantic models: values above zero. A coordinate, or how something is turned, may be below it.
Torque = Annotated[Quantity, _checked("torque", above=0)]
Coordinate = Annotated[Quantity, _checked("length")]
Length = Annotated[Quantity, _checked("length", above=0)]
Angle = Annotated[Quantity, _checked("angle", above=0)]
Turned = Annotated[Quantity, _checked("angle")]
Duration = Annotated[Quantity, _checked("time", above=0)]
Share = Annotated[Quantity, _checked("share", above=0, most=100)]
