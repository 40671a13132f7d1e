"""What an author writes of values: those that are measured, and those that are worked out from them.

    - step: bore
      say: Measure the bore at three places.
      measure: {name: bore, what: the bore, unit: mm, gauge: 0.005 mm, readings: 3}
    - step: clearance
      say: Work out the running clearance.
      work_out: {name: clearance, what: the running clearance, value: bore - shaft, least: 0.02 mm, most: 0.06 mm}
    - step: shim
      say: Choose the shim.
      work_out:
        name: shim
        what: the shim
        value: gap - 0.05 mm                      (what would be right)
        sizes: [0.10 mm, 0.15 mm, 0.20 mm]        (what is at hand)
        leaves: {what: the end float, value: gap - shim, least: 0.02 mm, most: 0.08 mm}

A formula uses the names of values of earlier steps, numbers with units, + - * / and min, max, mean, abs.
Limits may be formulas too. Units are carried: what adds a length to a torque is a mistake that is told
when the file is read. An angle is a kind of its own: a pitch is written 1.5 mm / 1 turn.
"""

import keyword
import re
from collections.abc import Iterator
from typing import Annotated, Any, Final

from pydantic import BeforeValidator, Field, field_validator, model_validator

from assistant.errors import TorqueError
from assistant.measures.formula import FUNCTIONS, Formula
from assistant.procedure.written import Written
from assistant.torque.units import Quantity, read_quantity

_LOOKS_WORKED: Final = re.compile(r"[a-z(]|.* [-+*/] ", re.DOTALL)


def _limit(value: Any) -> Any:
    """Take what begins with a name, or has an operator between blanks, for a formula."""
    if isinstance(value, str) and _LOOKS_WORKED.match(value):
        return Formula(value)
    if isinstance(value, int | float):
        raise ValueError(f"{value} is a bare number; write its unit, such as {value} mm")  # noqa: TRY004
    return Quantity.model_validate(value) if isinstance(value, str | int | float) else value


Limit = Annotated[Quantity | Formula, BeforeValidator(_limit)]
"""A value with its unit, or a formula."""


class _Limited(Written):
    """A value of one thing, and what it must lie between; `unit` where no limit shows it."""

    what: str
    least: Limit | None = None
    most: Limit | None = None
    written_unit: str = Field(default="", alias="unit")

    @field_validator("written_unit")
    @classmethod
    def _known_unit(cls, unit: str) -> str:
        try:
            return read_quantity(f"1 {unit}").unit if unit else ""
        except TorqueError as error:
            raise ValueError(str(error)) from error

    @model_validator(mode="after")
    def _limits_agree(self) -> "_Limited":
        given = list(self._quantities())
        if len({quantity.dimension for quantity in given}) > 1:
            raise ValueError("the limits and the gauge must be of one kind of quantity")
        if not given and not self.written_unit:
            raise ValueError("its unit shows nowhere; write one, such as unit: mm")
        if (
            given
            and self.written_unit
            and read_quantity(f"1 {self.written_unit}").dimension != given[0].dimension
        ):
            raise ValueError(f"its limits are not in a unit like {self.written_unit}")
        if isinstance(self.least, Quantity) and isinstance(self.most, Quantity) and self.most < self.least:
            raise ValueError(f"least ({self.least}) is above most ({self.most})")
        return self

    def _quantities(self) -> Iterator[Quantity]:
        """Give the values that are written out, the one first that shows the unit."""
        for limit in (self.most, self.least):
            if isinstance(limit, Quantity):
                yield limit

    @property
    def unit(self) -> str:
        """The unit of the author, which a value spoken without one is taken to have."""
        return self.written_unit or next(self._quantities()).unit

    @property
    def formulas(self) -> dict[str, Formula]:
        """What is worked out about it, by key."""
        return {key: limit for key in ("least", "most") if isinstance(limit := getattr(self, key), Formula)}


def _name(name: Any) -> str:
    if not isinstance(name, str):
        raise ValueError(f"{name!r} is not a name that can be spoken; use small letters and blanks")  # noqa: TRY004
    words = name.split(" ")
    if name and not re.fullmatch(r"[a-z]+( [a-z]+)*", name):
        raise ValueError(f"{name!r} is not a name that can be spoken; use small letters and blanks")
    if name in FUNCTIONS or any(keyword.iskeyword(word) for word in words if len(words) == 1):
        raise ValueError(f"{name!r} has a meaning of its own in formulas; take another name")
    return name


Name = Annotated[str, BeforeValidator(_name)]
"""What a value is called in formulas and in "what was the ...": letters and blanks."""


class Measure(_Limited):
    """Measure one thing; `least` and `most` are its limits, `gauge` the expanded uncertainty of the gauge.

    `readings` are taken so many times, and their mean is judged. One that formulas use has a `name`,
    and may be without limits.
    """

    name: Name = ""
    gauge: Quantity | None = None
    readings: int = Field(default=1, ge=1, le=20)

    @model_validator(mode="after")
    def _has_a_use(self) -> "Measure":
        if self.least is None and self.most is None and not self.name:
            raise ValueError(
                "a measurement needs a limit: write least, most, or both; or a name for formulas"
            )
        return self

    def _quantities(self) -> Iterator[Quantity]:
        yield from super()._quantities()
        if self.gauge is not None:
            yield self.gauge


class Leaves(_Limited):
    """What the chosen size leaves: a value by a formula, in which the size stands under its name."""

    value: Formula

    @property
    def formulas(self) -> dict[str, Formula]:
        """What is worked out about it, by key."""
        return {"value": self.value, **super().formulas}


class WorkOut(_Limited):
    """Work out one value by a formula; with `sizes`, choose of those at hand the one that suits best.

    The best leaves a value within the limits of `leaves`, and is the nearest to what the formula asks for.
    """

    name: Name = Field(min_length=1)
    value: Formula
    sizes: tuple[Quantity, ...] = ()
    leaves: Leaves | None = None

    @model_validator(mode="after")
    def _sizes_leave(self) -> "WorkOut":
        if bool(self.sizes) != (self.leaves is not None):
            raise ValueError(
                "sizes and leaves belong together: say with leaves: what a size must leave, and its limits"
            )
        if self.sizes and (self.least is not None or self.most is not None):
            raise ValueError("with sizes, the limits stand in leaves")
        if self.leaves and not (self.leaves.least or self.leaves.most):
            raise ValueError(f"{self.leaves.what} needs a limit: write least, most, or both in leaves")
        return self

    def _quantities(self) -> Iterator[Quantity]:
        yield from super()._quantities()
        yield from self.sizes

    @property
    def formulas(self) -> dict[str, Formula]:
        """What is worked out about it, by key."""
        return {"value": self.value, **super().formulas}


def needs_of(value: Measure | WorkOut) -> tuple[str, ...]:
    """Name the values that one is worked out or judged from, its own name not among them."""
    formulas = list(value.formulas.values())
    if isinstance(value, WorkOut) and value.leaves:
        formulas += value.leaves.formulas.values()
    return tuple(dict.fromkeys(name for each in formulas for name in each.names if name != value.name))
