"""Every way in which the decisions of a procedure can fall, with the steps that come up on it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from assistant.procedure.conditions import applies
from assistant.procedure.model import Procedure, Step

MOST_WAYS: Final = 1024
"""With more decisions than that takes, the later ones are followed on a yes alone."""


@dataclass(frozen=True, eq=False)
class Way:
    """What was decided, by name, and the places (from 0) of the steps that then come up, in order."""

    decided: Mapping[str, bool] = field(default_factory=dict)
    places: tuple[int, ...] = ()

    def told(self) -> str:
        """Say in which case this is, for a message; "" where nothing was decided."""
        answers = (f"{name} is {'yes' if yes else 'no'}" for name, yes in self.decided.items())
        return " and ".join(answers)

    def case(self, *, always: bool) -> str:
        """Say in which case something holds, with a blank before; "" where it holds on every way."""
        return "" if always or not self.decided else f" where {self.told()}"


@dataclass(frozen=True)
class Looked:
    """What the finders look at: the procedure, and all ways through it."""

    procedure: Procedure
    ways: tuple[Way, ...]

    def steps(self, way: Way) -> Iterator[tuple[int, Step]]:
        """Give the steps of a way with their places."""
        for place in way.places:
            yield place, self.procedure.steps[place]


def looked_at(procedure: Procedure) -> Looked:
    """Work out all ways through a procedure."""
    ways = [Way()]
    for place, step in enumerate(procedure.steps):
        ways = [after for way in ways for after in _after(way, place, step, fork=len(ways) < MOST_WAYS)]
    return Looked(procedure, tuple(ways))


def on_route(looked: Looked, route: str) -> Looked:
    """Give the ways through the steps of a named route alone."""
    names = set(looked.procedure.routes[route])
    steps = looked.procedure.steps
    ways = (
        Way(way.decided, tuple(place for place in way.places if steps[place].step in names))
        for way in looked.ways
    )
    return Looked(looked.procedure, tuple(ways))


def _after(way: Way, place: int, step: Step, *, fork: bool) -> Iterator[Way]:
    if not applies(step, way.decided):
        yield way
        return
    places = (*way.places, place)
    if step.decide is None:
        yield Way(way.decided, places)
        return
    for yes in (True, False) if fork else (True,):
        yield Way({**way.decided, step.decide.name: yes}, places)
