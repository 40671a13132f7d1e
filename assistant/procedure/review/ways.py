"""Every way in which the decisions of a procedure can fall, with the steps that come up on it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from assistant.procedure.conditions import applies
from assistant.procedure.model import Procedure, Step

MOST_WAYS: Final = 1024
"""With more decisions than that takes, the later ones fall now so and now so, and not every way is looked at."""


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
    """What the finders look at: the procedure, and `every` way through it, or many of too many."""

    procedure: Procedure
    ways: tuple[Way, ...]
    every: bool = True

    def steps(self, way: Way) -> Iterator[tuple[int, Step]]:
        """Give the steps of a way with their places."""
        for place in way.places:
            yield place, self.procedure.steps[place]


def looked_at(procedure: Procedure) -> Looked:
    """Work out all ways through a procedure."""
    ways, every = [Way()], True
    for place, step in enumerate(procedure.steps):
        fork = step.decide is None or 2 * len(ways) <= MOST_WAYS
        every = every and fork
        ways = [
            after
            for number, way in enumerate(ways)
            for after in _after(
                way, place, step, (True, False) if fork else (bool(number >> place % 10 & 1),)
            )
        ]
    return Looked(procedure, tuple(ways), every)


def on_route(looked: Looked, route: str) -> Looked:
    """Give the ways through the steps of a named route alone."""
    names = set(looked.procedure.routes[route])
    steps = looked.procedure.steps
    ways = (
        Way(way.decided, tuple(place for place in way.places if steps[place].step in names))
        for way in looked.ways
    )
    return Looked(looked.procedure, tuple(ways), looked.every)


def _after(way: Way, place: int, step: Step, answers: tuple[bool, ...]) -> Iterator[Way]:
    """Give what becomes of a way at a step: one way for each of the answers, where it decides something."""
    if not applies(step, way.decided):
        yield way
        return
    places = (*way.places, place)
    if step.decide is None:
        yield Way(way.decided, places)
        return
    for yes in answers:
        yield Way({**way.decided, step.decide.name: yes}, places)
