"""One stage of a tightening plan, in the forms in which an author writes it.

A stage is a word (`hand`, `snug`, `check`, `centre`, `replace`) or a mapping with one of the keys
below and, where needed, which positions it takes, in which order, and which pass should click:

    - hand
    - {torque: 60 N.m, order: [2, 3, 1, 4]}
    - {share: 50 %}                                   of the final value
    - {angle: 90 deg}                                 after the torque of the stage before
    - {back_off: 1 turn}                              and tightened again before the next is touched
    - {rise: 1/4 turn, until: seated}                 round and round
    - {rise: 1/4 turn, until: 18 lbf.ft, rounds: [2, 3], clicks: true}
    - {centre: 45 lbf.in}                             the centring tools, in the positions they hold
    - {replace: 45 lbf.in}                            each tool by its fastener, one at a time
    - {check: 60 N.m}                                 a last pass over all
"""

from typing import Annotated, Any, Literal, Self, TypeAlias

from pydantic import BaseModel, ConfigDict, Field, PositiveInt, model_validator

from assistant.torque.units import Angle, Quantity, Share, Torque

Kind: TypeAlias = Literal["hand", "snug", "torque", "angle", "back-off", "rise", "check", "centre", "replace"]
Positions: TypeAlias = tuple[PositiveInt, ...]
#: Listed, or by the name of a pattern; `any` says that the order does not matter.
OrderChoice: TypeAlias = (
    Positions | Literal["derived", "crosswise", "centre-out", "alternate-ends", "numeric", "any"]
)

WORDS = ("hand", "snug", "check", "centre", "replace")
_FORMS: dict[str, Kind] = {
    "hand": "hand",
    "snug": "snug",
    "torque": "torque",
    "share": "torque",
    "angle": "angle",
    "back_off": "back-off",
    "rise": "rise",
    "check": "check",
    "centre": "centre",
    "replace": "replace",
}


Rounds: TypeAlias = Annotated[int, Field(ge=1, le=50)]


class Stage(BaseModel):
    """One stage: exactly one of its forms, and how it is gone through."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    hand: Literal[True] | None = None
    snug: Literal[True] | None = None
    torque: Torque | None = None
    share: Share | None = Field(default=None, description="of the final value")
    angle: Angle | None = None
    back_off: Angle | None = None
    rise: Angle | None = Field(
        default=None, description="the step by which each position is turned in a round"
    )
    centre: Literal[True] | Torque | None = Field(default=None, description="run up the centring tools")
    replace: Literal[True] | Torque | None = Field(default=None, description="each tool by its fastener")
    check: Literal[True] | Torque | None = Field(default=None, description="a last pass over all")

    until: Literal["seated"] | Torque | None = Field(default=None, description="what ends a rise")
    rounds: Rounds | tuple[Rounds, Rounds] | None = Field(
        default=None, description="how many rounds a rise takes, or from how many to how many"
    )
    order: OrderChoice | None = None
    positions: Positions | None = None
    clicks: bool = Field(default=False, description="the wrench should click in this pass")
    one_at_a_time: bool | None = Field(
        default=None,
        description="this stage and the next are done on one position before the next is touched;"
        " a back-off is done so unless this is false",
    )

    @model_validator(mode="before")
    @classmethod
    def _from_word(cls, given: Any) -> Any:
        if not isinstance(given, str):
            return given
        if given not in WORDS:
            raise ValueError(
                f"{given!r} is no stage; write {', '.join(WORDS)}, or a mapping: {{torque: 60 N.m}}"
            )
        return {given: True}

    @model_validator(mode="after")
    def _one_form(self) -> Self:
        forms = [form for form in _FORMS if getattr(self, form) is not None]
        if len(forms) != 1:
            found = " and ".join(forms) or "none"
            raise ValueError(f"a stage has one of {', '.join(_FORMS)}; this one has {found}")
        if self.rise is None and (self.until is not None or self.rounds is not None):
            raise ValueError("until and rounds belong to a rise; write {rise: 1/4 turn, until: seated}")
        if self.rise is not None and self.until is None and self.rounds is None:
            raise ValueError("a rise needs its end; write until: seated, until: 18 N.m, or rounds: 3")
        if self.least_rounds > self.most_rounds > 0:
            raise ValueError(
                f"rounds run from {self.least_rounds} down to {self.most_rounds}; turn them round"
            )
        return self

    @property
    def form(self) -> str:
        """The key under which it was written: torque, share, back_off, ..."""
        return next(form for form in _FORMS if getattr(self, form) is not None)

    @property
    def kind(self) -> Kind:
        """What is done at a position."""
        return _FORMS[self.form]

    @property
    def value(self) -> Quantity | None:
        """The number as written: a torque, a share, an angle; None for a stage that is only a word."""
        given = getattr(self, self.form)
        return given if isinstance(given, Quantity) else None

    @property
    def end(self) -> Quantity | None:
        """The torque or angle that it brings a position to; a share's is worked out from the group."""
        if self.kind == "rise":
            return self.until if isinstance(self.until, Quantity) else None
        return None if self.share is not None or self.kind == "back-off" else self.value

    @property
    def reaches(self) -> str:
        """What it brings a fastener to: "torque", "angle", or "" where nothing is measured."""
        if self.share is not None:
            return "torque"
        return self.end.dimension if self.end and self.kind != "centre" else ""

    @property
    def joined(self) -> bool:
        """Whether it is done together with the next stage, position by position."""
        return self.back_off is not None if self.one_at_a_time is None else self.one_at_a_time

    @property
    def least_rounds(self) -> int:
        """The first round in which it may be finished: 0 where nobody said."""
        return self.rounds[0] if isinstance(self.rounds, tuple) else self.rounds or 0

    @property
    def most_rounds(self) -> int:
        """The last round: 0 where it takes as many as it takes."""
        return self.rounds[1] if isinstance(self.rounds, tuple) else self.rounds or 0
