"""The torque wrenches of a shop, and which of them suits a value.

What makes a wrench suit follows ISO 6789 (from memory): from a fifth of its full scale upwards it
reads within its permissible deviation, 4 % for most and 6 % for those up to 10 N.m; it is
calibrated every twelve months or 5000 uses.
"""

import datetime as dt
from collections.abc import Callable, Collection
from decimal import Decimal
from fractions import Fraction
from typing import Literal, NamedTuple, Self

from pydantic import BaseModel, ConfigDict, Field, NonNegativeInt, PositiveInt, model_validator

from assistant.errors import TorqueError
from assistant.torque.adapter import setting_for
from assistant.torque.rounding import for_wrench
from assistant.torque.units import Length, Quantity, Share, Torque

#: Where nobody stated a tolerance, a setting is held to what the wrenches themselves are held to.
USUAL_TOLERANCE = Quantity(value=Decimal(4), unit="%")
_DOUBTED_BELOW = Fraction(1, 5)
_CALIBRATED_FOR = dt.timedelta(days=365)
_CALIBRATED_USES = 5000
_SMALL = Quantity(value=Decimal(10), unit="N.m")
_SMALL_DEVIATION = Quantity(value=Decimal(6), unit="%")


_DRIVES = {
    "1/4 in": "quarter-inch",
    "3/8 in": "three-eighths",
    "1/2 in": "half-inch",
    "3/4 in": "three-quarter",
}


class Doubt(NamedTuple):
    """Why a wrench is not quite trusted with a torque: in one word, and as a sentence."""

    kind: Literal["low", "left-hand"]
    text: str


class TorqueWrench(BaseModel):
    """One wrench, as written in the shop's list."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: str = Field(min_length=1)
    say: str | None = Field(default=None, description="what it is called aloud")
    kind: Literal["click", "beam", "dial", "electronic"] = "click"
    drive: str | None = Field(default=None, examples=["1/4 in"])
    least: Torque
    most: Torque
    resolution: Torque = Field(description="the step in which it is set or read")
    length: Length | None = Field(
        default=None, description="from the middle of the square to that of the grip"
    )
    accuracy: Share | None = None
    left_hand: bool = Field(default=False, description="measures to the left as well")
    calibrated: dt.date | None = None
    uses: NonNegativeInt = Field(default=0, description="since the last calibration")
    uses_allowed: PositiveInt = _CALIBRATED_USES

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        if not self.least < self.most:
            raise ValueError(f"{self.name} runs from {self.least} to {self.most}; turn them round")
        if self.resolution.value <= 0 or self.most < self.resolution:
            raise ValueError(f"{self.name} cannot be set in steps of {self.resolution}")
        return self

    @property
    def spoken(self) -> str:
        """What it is called aloud."""
        drive = f"{_DRIVES.get(self.drive, self.drive)} drive " if self.drive else ""
        return self.say or f"the {drive}{self.kind} wrench {self.name}"

    @property
    def deviation(self) -> Quantity:
        """How far it may be off: what the shop states, else what its standard permits."""
        return self.accuracy or (_SMALL_DEVIATION if self.most <= _SMALL else USUAL_TOLERANCE)

    def spans(self, target: Quantity) -> bool:
        """Whether the target lies within its range."""
        return self.least <= target <= self.most

    def doubts(self, target: Quantity, *, left_hand: bool = False) -> tuple[Doubt, ...]:
        """Give what is to be said before it is trusted with this target."""
        found: list[Doubt] = []
        if target.exact(self.most.unit) < _DOUBTED_BELOW * Fraction(self.most.value):
            text = f"{target} is below a fifth of its full scale of {self.most}, where it reads badly"
            found.append(Doubt("low", text))
        if left_hand and not self.left_hand:
            text = "the thread is left-handed and the list does not say that it measures that way"
            found.append(Doubt("left-hand", text))
        return tuple(found)

    def calibration(self, today: dt.date) -> str:
        """Give what is to be told about its calibration; "" where it is in date."""
        if self.calibrated is None:
            return f"{self.spoken} has no calibration date"
        if self.calibrated > today:
            return f"{self.spoken} has a calibration date that is still to come, {self.calibrated}"
        if self.uses >= self.uses_allowed:
            return f"{self.spoken} has done {self.uses} uses since it was calibrated"
        months = (today - self.calibrated).days // 30
        late = today - self.calibrated > _CALIBRATED_FOR
        return f"{self.spoken} was calibrated {months} months ago, on {self.calibrated}" if late else ""


class Choice(NamedTuple):
    """The wrench for a target, what it is set to, and what to say about it."""

    wrench: TorqueWrench
    setting: Quantity
    doubts: tuple[Doubt, ...]


class Shop(BaseModel):
    """The tools of a shop, as its file lists them."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    wrenches: tuple[TorqueWrench, ...] = ()

    @model_validator(mode="after")
    def _names_differ(self) -> Self:
        names = [wrench.name for wrench in self.wrenches]
        if twice := {name for name in names if names.count(name) > 1}:
            raise ValueError(f"two wrenches are called {', '.join(sorted(twice))}; name them apart")
        return self

    def wrench(self, name: str) -> TorqueWrench:
        """Give a wrench by its name; TorqueError where there is none."""
        for wrench in self.wrenches:
            if wrench.name == name:
                return wrench
        listed = ", ".join(wrench.name for wrench in self.wrenches) or "none"
        raise TorqueError(f"the shop has no wrench called {name}", do=f"it has {listed}")

    def without(self, names: Collection[str]) -> "Shop":
        """Give the shop without some of its wrenches."""
        return Shop(wrenches=tuple(wrench for wrench in self.wrenches if wrench.name not in names))

    def used(self, name: str, times: int = 1) -> "Shop":
        """Give the shop with uses of one wrench counted."""
        used = self.wrench(name)
        counted = used.model_copy(update={"uses": used.uses + times})
        return Shop(wrenches=tuple(counted if known is used else known for known in self.wrenches))


Reach = Callable[[TorqueWrench, Quantity], Quantity]
"""What a wrench itself has to bring for a torque at the fastener; TorqueError where that cannot be said."""


def direct(_wrench: TorqueWrench, target: Quantity) -> Quantity:
    """Bring the torque itself: nothing stands between wrench and fastener."""
    return target


def through(length: Quantity, angle: Quantity) -> Reach:
    """Bring the torque through an adapter of that length, at that angle to the handle."""
    return lambda wrench, target: setting_for(target, wrench.length, length, angle).setting


def choose(
    shop: Shop,
    target: Quantity,
    tolerance: Quantity = USUAL_TOLERANCE,
    *,
    left_hand: bool = False,
    reach: Reach = direct,
) -> Choice:
    """Choose the wrench for a target: without doubts if there is one, in the target's unit, the smallest.

    `tolerance` is a share of the target or a torque; `reach` counts an adapter in. Raises TorqueError where no
    wrench of the shop reaches the target, or none of those that do can be set closely enough.
    """
    wanted = _wanted(shop, target, reach)
    spanning = [(wrench, brought) for wrench, brought in wanted if wrench.spans(brought)]
    if not spanning:
        ranges = ", ".join(f"{w.name} {w.least} to {w.most}" for w in shop.wrenches) or "none at all"
        raise TorqueError(f"no wrench of the shop reaches {target}", do=f"it has {ranges}")
    set_up = (_set(wrench, brought, tolerance, left_hand=left_hand) for wrench, brought in spanning)
    choices = [choice for choice in set_up if choice]
    if not choices:
        steps = ", ".join(f"{w.name} in steps of {w.resolution}" for w, _ in spanning)
        raise TorqueError(
            f"no wrench of the shop can be set within {tolerance} of {target}", do=f"it has {steps}"
        )
    return min(choices, key=lambda choice: _rank(choice, target))


def _wanted(shop: Shop, target: Quantity, reach: Reach) -> list[tuple[TorqueWrench, Quantity]]:
    """Give each wrench with what it has to bring; TorqueError where that can be said of none."""
    wanted: list[tuple[TorqueWrench, Quantity]] = []
    unknown: TorqueError | None = None
    for wrench in shop.wrenches:
        try:
            wanted.append((wrench, reach(wrench, target)))
        except TorqueError as error:
            unknown = error
    if unknown and not wanted:
        raise unknown
    return wanted


def _set(wrench: TorqueWrench, brought: Quantity, tolerance: Quantity, *, left_hand: bool) -> Choice | None:
    try:
        setting = for_wrench(brought, wrench.resolution, tolerance)
    except TorqueError:
        return None
    doubts = wrench.doubts(brought, left_hand=left_hand)
    return Choice(wrench, setting, doubts) if wrench.spans(setting) else None


def _rank(choice: Choice, target: Quantity) -> tuple[int, bool, Fraction]:
    other_unit = choice.wrench.resolution.unit != target.unit
    return len(choice.doubts), other_unit, choice.wrench.most.exact("N.m")
