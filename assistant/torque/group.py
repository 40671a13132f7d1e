"""A group of fasteners as its author writes it: how many, of what, where, in which order and stages."""

from collections import Counter
from collections.abc import Iterable
from typing import Any, Literal, Self

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    PositiveInt,
    field_validator,
    model_validator,
)

from assistant.errors import TorqueError
from assistant.torque.layout import Count, Layout, count_of
from assistant.torque.order import PATTERNS, Order, Point, line_points
from assistant.torque.stages import OrderChoice, Positions, Stage
from assistant.torque.strength import Material
from assistant.torque.threads import check_thread, read_class
from assistant.torque.units import Angle, Length, Quantity, Share, Torque

Condition = Literal["dry", "oiled", "plated", "waxed", "threadlocker", "anti-seize", "sealant"]
_TORQUE_KINDS = ("torque", "check", "rise")


class FastenerGroup(BaseModel):
    """Fasteners that are tightened together.

    `count` may be left out where a layout gives it. Everything by position is keyed from 1.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", validate_by_alias=True, validate_by_name=True)

    name: str = ""
    say: str | None = Field(default=None, description="what it is called aloud")
    count: Count
    thread: str | None = Field(default=None, examples=["M10x1.25", "1/4-20"])
    property_class: str | None = Field(
        default=None, alias="class", coerce_numbers_to_str=True, examples=["8.8", "SAE 5", "A2-70"]
    )
    condition: Condition | None = None
    layout: Layout | None = None
    order: OrderChoice = "derived"
    finals: dict[PositiveInt, Torque | Angle] = Field(
        default_factory=dict, description="final values of positions that differ from the rest"
    )
    lengths: dict[PositiveInt, Length] = Field(
        default_factory=dict, description="fastener lengths where they differ"
    )
    left_hand: bool = False
    into: Material = Field(default="steel", description="what holds the thread")
    engagement: Length | None = Field(default=None, description="how deep the thread engages there")
    tolerance: Share | Torque | None = Field(
        default=None, description="how far a setting may be off, as a share of the value or a torque"
    )
    retorque_after_heat: bool = Field(default=False, description="tightened again after the first heat")
    centring: Positions = Field(default=(), description="positions that first hold a centring tool")
    stages: tuple[Stage, ...] = ()

    @model_validator(mode="before")
    @classmethod
    def _count_from_layout(cls, given: Any) -> Any:
        if isinstance(given, dict) and "count" not in given and given.get("layout") is not None:
            return {**given, "count": count_of(given["layout"])}
        return given

    @field_validator("thread")
    @classmethod
    def _thread_that_there_is(cls, name: str | None) -> str | None:
        if name is not None:
            check_thread(name)
        return name

    @field_validator("property_class")
    @classmethod
    def _class_that_there_is(cls, name: str | None) -> str | None:
        if name is None:
            return None
        try:
            return read_class(name)
        except TorqueError as error:
            raise ValueError(str(error)) from error

    @model_validator(mode="after")
    def _agrees(self) -> Self:
        self._check_layout()
        if isinstance(self.order, tuple):
            _permutation("order", self.order, self.positions)
        for what, listed in (("finals", self.finals), ("lengths", self.lengths), ("centring", self.centring)):
            _within(what, listed, self.count)
        self._check_centring()
        self._check_rising()
        for number, stage in enumerate(self.stages, start=1):
            self._check_stage(number, stage)
        self._check_ends()
        return self

    @property
    def spoken(self) -> str:
        """What it is called aloud."""
        return self.say or self.name.replace("_", " ").replace("-", " ")

    @property
    def positions(self) -> Positions:
        """All positions: 1 to count."""
        return tuple(range(1, self.count + 1))

    def points(self) -> tuple[Point, ...]:
        """Give each position's point; a group without a layout lies in a line."""
        return self.layout.placed() if self.layout else line_points(self.count)

    def sequence(self, stage: Stage | None = None) -> Order:
        """Give the positions of the whole group, or of one of its stages, in the order of doing."""
        chosen = self._choice(stage)
        taken = self.taken_by(stage) if stage else self.positions
        if isinstance(chosen, tuple):
            order: Order = chosen
        elif chosen in PATTERNS and self.layout:
            order = PATTERNS[chosen](self.points())
        else:
            order = self.positions
        return tuple(position for position in order if position in taken)

    def order_matters(self, stage: Stage | None = None) -> bool:
        """Whether somebody listed an order, or one follows from the layout."""
        chosen = self._choice(stage)
        return chosen != "any" and (chosen != "derived" or self.layout is not None)

    def taken_by(self, stage: Stage) -> Positions:
        """Give the positions that a stage works on, in numeric order.

        A position that still holds its centring tool waits until the tool has been replaced.
        """
        if stage.positions is not None:
            return tuple(sorted(stage.positions))
        if stage.kind in ("centre", "replace"):
            return tuple(sorted(self.centring))
        return tuple(p for p in self.positions if p not in self._tools_during(stage))

    def final_torque(self, position: int) -> Quantity | None:
        """Give the torque that shares are taken of: the position's own final, else its last torque stage."""
        own = self.finals.get(position)
        if own is not None and own.dimension == "torque":
            return own
        ends = [_torque_of(stage) for stage in self.stages if position in self.taken_by(stage)]
        return next((torque for torque in reversed(ends) if torque is not None), None)

    def _choice(self, stage: Stage | None) -> OrderChoice:
        return stage.order if stage and stage.order is not None else self.order

    def _tools_during(self, stage: Stage) -> Positions:
        kinds = [known.kind for known in self.stages]
        replaced = kinds.index("replace") if "replace" in kinds else len(kinds)
        before = any(known is stage for known in self.stages[:replaced])
        return self.centring if before else ()

    def _check_layout(self) -> None:
        placed = len(self.points())
        if placed != self.count:
            raise ValueError(f"count says {self.count} and the layout has {placed}; make them agree")

    def _check_centring(self) -> None:
        kinds = Counter(stage.kind for stage in self.stages)
        if self.centring and self.stages and (kinds["centre"], kinds["replace"]) != (1, 1):
            raise ValueError(
                f"centring tools in {_listed(self.centring)} need one stage that runs them up and one that"
                " replaces them; write {centre: 45 lbf.in} and {replace: 45 lbf.in}, or the bare words"
            )
        if not self.centring and kinds["centre"] + kinds["replace"]:
            raise ValueError("centre and replace need the positions of the tools; write centring: [1, 3]")

    def _check_stage(self, number: int, stage: Stage) -> None:
        where = f"stage {number}"
        taken = self.taken_by(stage)
        _within(where, taken, self.count)
        if isinstance(stage.order, tuple):
            _permutation(f"{where}: order", stage.order, taken)
        if held := set(taken) & set(self._tools_during(stage)) - self._tool_stage(stage):
            raise ValueError(
                f"{where}: position {_listed(held)} still holds its centring tool; replace it first"
            )
        needs_torque = stage.share is not None or (stage.kind == "check" and stage.value is None)
        lost = [p for p in taken if needs_torque and self.final_torque(p) is None]
        if lost:
            raise ValueError(
                f"{where}: no final torque is known for position {_listed(lost)};"
                " add a {torque: ...} or {check: ...} stage, or finals"
            )

    def _check_rising(self) -> None:
        """Refuse a torque below the one before, unless the position was backed off between them."""
        reached: dict[int, Quantity] = {}
        for number, stage in enumerate(self.stages, start=1):
            for position in self.taken_by(stage):
                value = self.final_torque(position) if stage.kind == "check" else _torque_of(stage)
                if stage.share is not None and (final := self.final_torque(position)):
                    value = final.scaled(stage.share.value / 100)
                if stage.kind == "back-off":
                    reached.pop(position, None)
                elif value is not None:
                    own = self.finals.get(position)
                    value = (
                        own
                        if own is not None and own.dimension == "torque" and stage.share is None
                        else value
                    )
                    if position in reached and value < reached[position]:
                        raise ValueError(
                            f"stage {number}: {value} at position {position} is below the {reached[position]} that it"
                            " has already; back it off first, or mend the values"
                        )
                    reached[position] = value

    def _tool_stage(self, stage: Stage) -> set[int]:
        return set(self.centring) if stage.kind in ("centre", "replace") else set()

    def _check_ends(self) -> None:
        for position in self.positions:
            kinds = [stage.kind for stage in self.stages if position in self.taken_by(stage)]
            if kinds and kinds[-1] in ("back-off", "centre"):
                raise ValueError(
                    f"the stages leave position {position} after {kinds[-1]}; add what tightens it"
                )


def _torque_of(stage: Stage) -> Quantity | None:
    usable = stage.kind in _TORQUE_KINDS and stage.end is not None and stage.end.dimension == "torque"
    return stage.end if usable else None


def _listed(positions: Iterable[int]) -> str:
    return ", ".join(str(position) for position in sorted(positions))


def _within(what: str, positions: Iterable[int], count: int) -> None:
    if over := [position for position in positions if position > count]:
        raise ValueError(f"{what} names position {_listed(over)}; the group has 1 to {count}")


def _permutation(what: str, order: Positions, positions: Positions) -> None:
    counts = Counter(order)
    twice = [position for position, times in counts.items() if times > 1]
    faults = {
        "twice": twice,
        "missing": set(positions) - set(order),
        "not of these": set(order) - set(positions),
    }
    if any(faults.values()):
        text = "; ".join(f"{_listed(found)} {fault}" for fault, found in faults.items() if found)
        raise ValueError(f"{what} must have each of {_listed(positions)} once: {text}")
