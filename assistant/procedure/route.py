"""The way through a procedure: the steps that a job works through, in their order."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

from assistant.errors import ProcedureError
from assistant.procedure.model import Procedure, Step
from assistant.procedure.things import Supply
from assistant.procedure.values import needs_of
from assistant.torque.group import FastenerGroup
from assistant.torque.plan import Act, expand, expand_after_heat
from assistant.torque.values import DoubtedValue, doubted_values
from assistant.torque.wrench import Shop

_NO_SHOP: Final = Shop()


@dataclass(frozen=True, eq=False)
class Route:
    """One way through a procedure: all its steps (no name) or those of a named route, and the shop's tools.

    Two routes are the same only where they are one, so that what is worked out for one can be kept by it.
    """

    procedure: Procedure
    steps: tuple[Step, ...]
    name: str = ""
    shop: Shop = _NO_SHOP
    newer: "Newer | None" = None
    reads_otherwise: frozenset[str] = frozenset()

    @cached_property
    def _places(self) -> dict[str, int]:
        return {step.step: place for place, step in enumerate(self.steps)}

    @cached_property
    def plans(self) -> dict[str, tuple[Act, ...]]:
        """The expanded plan of each group, by its name, with what comes after the first heat at its end."""
        groups = self.procedure.groups.items()
        return {name: (*expand(group), *expand_after_heat(group)) for name, group in groups}

    @cached_property
    def doubted(self) -> tuple[DoubtedValue, ...]:
        """The torques that can hardly be meant, of the groups that this route tightens."""
        tightened = dict.fromkeys(step.tighten.group for step in self.steps if step.tighten)
        return tuple(found for name in tightened for found in doubted_values(self.procedure.groups[name]))

    @cached_property
    def valued(self) -> tuple[str, ...]:
        """The steps that measure something or work it out, in order."""
        return tuple(step.step for step in self.steps if step.value)

    @cached_property
    def givers(self) -> dict[str, str]:
        """By the name of a value, the step that gives it."""
        return _givers(self.steps)

    @cached_property
    def under(self) -> dict[str, int]:
        """Which steps each step rests on, at first or second hand: of those on this route, a bit for each place."""
        found = _under(self.procedure, self._places)
        return {name: found[name] for name in self._places}

    def rests(self, name: str, on: str) -> bool:
        """Tell whether a step rests on another, at first or second hand."""
        return bool(self.under[name] >> self._places[on] & 1)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The names of the steps, in their order."""
        return tuple(step.step for step in self.steps)

    def place(self, name: str) -> int:
        """Give the place of a step on this route, from 0."""
        return self._places[name]

    def step(self, name: str) -> Step:
        """Give a step by its name."""
        return self.steps[self._places[name]]

    def group(self, step: Step) -> FastenerGroup:
        """Give the group that a tightening step works on."""
        assert step.tighten is not None, f"{step.step} does not tighten"  # noqa: S101
        return self.procedure.groups[step.tighten.group]

    def supplies(self, step: Step) -> tuple[Supply, ...]:
        """Give what is put on at a step: what it names itself, and what belongs on the parts that it fits."""
        fitted = [self.procedure.parts[name] for name in dict.fromkeys((*step.use, *step.put_back))]
        return (*step.apply, *(supply for part in fitted for supply in part.apply))

    def acts(self, step: Step) -> tuple[tuple[int, Act], ...]:
        """Give the acts of a tightening step, each with its number in the group's plan."""
        assert step.tighten is not None, f"{step.step} does not tighten"  # noqa: S101
        last = len(self.group(step).stages)
        hot = (last + 1,)
        wanted = hot if step.tighten.after_heat else step.tighten.stages or range(1, last + 1)
        plan = self.plans[step.tighten.group]
        return tuple((number, act) for number, act in enumerate(plan) if act.stage in wanted)


def _givers(steps: Sequence[Step]) -> dict[str, str]:
    return {step.value.name: step.step for step in steps if step.value and step.value.name}


@dataclass(frozen=True)
class Newer:
    """A newer text of a procedure that is worked: its route, and what was worked on and is not in it.

    What is lost is named; a step is told by its number in the older text.
    """

    route: Route
    text: str
    lost: tuple[str | int, ...] = ()

    @property
    def revision(self) -> int:
        """The number of the newer text."""
        return self.route.procedure.revision


def revised(old: Route, route: Route, text: str, lost: tuple[str | int, ...]) -> Route:
    """Give a route that knows of a newer text, which in its turn knows the steps that read otherwise in it."""
    before = {step.step: step for step in old.steps}
    otherwise = (step.step for step in route.steps if step != before.get(step.step, step))
    return replace(old, newer=Newer(replace(route, reads_otherwise=frozenset(otherwise)), text, lost))


def _under(procedure: Procedure, places: Mapping[str, int]) -> dict[str, int]:
    """Give for each step all that it rests on: what it names, else the step before; its group's stages; its values.

    Places are kept as bits of one number, a step's own and those of all beneath it: a long procedure would
    not bear a set for each step.
    """
    found: dict[str, int] = {}
    with_it: dict[str, int] = {}
    tightened: dict[str, int] = {}
    givers = _givers(procedure.steps)
    before: tuple[str, ...] = ()
    for step in procedure.steps:
        under = tightened.get(step.tighten.group, 0) if step.tighten else 0
        named = before if step.rests_on is None else step.rests_on
        values = (givers[name] for name in needs_of(step.value) if name in givers) if step.value else ()
        for name in (*named, *values):
            under |= with_it.get(name, 0)
        found[step.step] = under
        with_it[step.step] = under | (1 << places[step.step] if step.step in places else 0)
        if step.tighten:
            tightened[step.tighten.group] = with_it[step.step]
        before = (step.step,)
    return found


def route_through(procedure: Procedure, name: str = "", shop: Shop = _NO_SHOP) -> Route:
    """Give the named route through a procedure, or all of it. Raises ProcedureError where there is none."""
    if not name:
        return Route(procedure, procedure.steps, shop=shop)
    if name not in procedure.routes:
        raise ProcedureError(
            f"the procedure has no route {name!r}",
            where=procedure.procedure,
            do=f"it has {_listed(tuple(procedure.routes))}",
        )
    wanted = set(procedure.routes[name])
    return Route(procedure, tuple(step for step in procedure.steps if step.step in wanted), name, shop)


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names) or "none"
