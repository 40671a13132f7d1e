"""What an author writes: a procedure, its groups of fasteners, its parts, tools and steps.

These models are the YAML file in frozen form. Every number carries its unit in the text; a key
that is not listed here is an error. What a procedure means while it is worked through is
`procedure.route` and the dialogue's business, never this module's. Values, measured and worked
out, are in `procedure.values`.
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Final, Literal

from pydantic import Field, field_validator, model_validator

from assistant.procedure.sounds import Sounds
from assistant.procedure.things import Counted, Part, Supply, Tools
from assistant.procedure.values import Measure, WorkOut
from assistant.procedure.written import Names
from assistant.procedure.written import Written as _Written
from assistant.torque.group import FastenerGroup
from assistant.torque.units import Duration, Length, Quantity, Turned

ACTIONS: Final = ("tighten", "measure", "work_out", "wait", "check", "decide")
"""A step has at most one of these; a step with none is said, done, and said to be done."""


class Caution(_Written):
    """What is spoken before a step that can hurt; a severe one must be acknowledged."""

    say: str
    severe: bool = False

    @model_validator(mode="before")
    @classmethod
    def _plain_text(cls, value: Any) -> Any:
        return {"say": value} if isinstance(value, str) else value


class Adapter(_Written):
    """What stands between wrench and fastener: its length, its angle to the handle, its fittings."""

    length: Length
    angle: Turned = Quantity(value=Decimal(0), unit="deg")
    fittings: tuple[Literal["extension", "universal joint"], ...] = ()


class Tighten(_Written):
    """Work through the plan of a group: all of its stages, or those numbered here from 1.

    `after_heat` goes over the final torque once more, where the group is to be tightened again after the first heat.
    """

    group: str
    stages: tuple[int, ...] = ()
    after_heat: bool = False
    adapter: Adapter | None = None

    @model_validator(mode="before")
    @classmethod
    def _plain_name(cls, value: Any) -> Any:
        return {"group": value} if isinstance(value, str) else value

    @field_validator("stages")
    @classmethod
    def _rising(cls, stages: tuple[int, ...]) -> tuple[int, ...]:
        if stages != (rising := tuple(sorted(set(stages)))):
            raise ValueError(f"stages are worked in their order, each once; write {[*rising]}")
        return stages


class Wait(_Written):
    """Wait at least so long, and then until the end test is answered with yes."""

    least: Duration
    test: str


class Check(_Written):
    """A gate: a question that must be answered with yes before anything after it.

    At a hold point a second person, one of the job's `people`, has to have seen it.
    """

    ask: str
    if_not: str
    hold: bool = False

    @model_validator(mode="before")
    @classmethod
    def _needs_both(cls, value: Any) -> Any:
        if isinstance(value, str):
            raise ValueError("write the question as ask: and what to do on a no as if_not:")  # noqa: TRY004
        return value


class Decide(_Written):
    """A question that is decided once by voice, and opens or leaves out the steps that depend on it (`when`)."""

    name: str
    ask: str


class Helper(_Written):
    """What a second person is told to do, by name or as "helper", until "stop" is called."""

    say: str
    who: str = "helper"

    @model_validator(mode="before")
    @classmethod
    def _plain_text(cls, value: Any) -> Any:
        return {"say": value} if isinstance(value, str) else value


class Step(_Written):
    """One thing to do, as it is read out, with at most one action that is followed closely.

    `when` names decisions that must have been answered with yes ("not NAME": with no). A step rests on the
    step before it, unless `rests_on` names others, or none.
    """

    step: str = Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")
    say: str = Field(min_length=1)
    when: Names = ()
    rests_on: Names | None = None
    caution: Caution | None = None
    tool: str = ""
    tighten: Tighten | None = None
    measure: Measure | None = None
    work_out: WorkOut | None = None
    wait: Wait | None = None
    check: Check | None = None
    decide: Decide | None = None
    helper: Helper | None = None
    use: Counted = ()
    put_in: Counted = ()
    take_out: Counted = ()
    take_off: Names = ()
    put_back: Names = ()
    apply: tuple[Supply, ...] = ()

    @model_validator(mode="after")
    def _one_action(self) -> "Step":
        given = [name for name in ACTIONS if getattr(self, name) is not None]
        if len(given) > 1:
            raise ValueError(
                f"a step has one action, and this one has {' and '.join(given)}; make two steps of it"
            )
        return self

    @property
    def value(self) -> Measure | WorkOut | None:
        """What the step measures or works out, if it does."""
        return self.measure or self.work_out

    @property
    def action(self) -> str:
        """Which of ACTIONS the step has, or "do" where it has none."""
        return next((name for name in ACTIONS if getattr(self, name) is not None), "do")


class Procedure(_Written):
    """A whole procedure, as its author wrote it.

    `routes` name shorter ways through it, as lists of step names in order. `tools` are what goes
    into the machine and must come out again; `parts` are the kit, and what comes off. `people` can be named at
    a hold point and as who asked for a departure. `first_start` names the steps that come after close-out.
    `read_back` says when what is final counts: at once, the answer being its read-back ("next"), or after a
    yes ("yes"). `pronounce` says how words of the names sound that a recogniser does not know
    (`procedure.sounds`).
    """

    procedure: str
    revision: int = Field(ge=1)
    demonstration: bool = False
    about: str
    cautions: Names = Field(min_length=1)
    groups: Mapping[str, FastenerGroup] = {}
    parts: Mapping[str, Part] = {}
    tools: Tools = Field(default={})
    people: Names = ()
    read_back: Literal["next", "yes"] = "next"
    pronounce: Mapping[str, Sounds] = {}
    steps: tuple[Step, ...] = Field(min_length=1)
    first_start: Names = ()
    routes: Mapping[str, Names] = {}

    @model_validator(mode="before")
    @classmethod
    def _named_groups(cls, value: Any) -> Any:
        """Tell each group the name it stands under."""
        if isinstance(value, dict) and isinstance(value.get("groups"), dict):
            named = {
                name: {**group, "name": name} if isinstance(group, dict) else group
                for name, group in value["groups"].items()
            }
            return {**value, "groups": named}
        return value
