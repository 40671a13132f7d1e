"""The names that a mechanic may say, taken from the procedure: they fill the slots of the grammars."""

from collections.abc import Mapping, Sequence
from typing import Final

from assistant.dialogue.numbers import words_for
from assistant.procedure.route import Route

MOST_CALLED: Final = 999
"""Steps up to this number can be gone to by voice; of a longer job the numbers alone would fill the grammar."""


def names_of(route: Route) -> Mapping[str, Sequence[str]]:
    """Give the names by kind, as the grammars' `<names.…>` rules call them."""
    groups = {step.tighten.group for step in route.steps if step.tighten}
    return {
        "group": sorted(route.procedure.groups[name].spoken for name in groups),
        "thing": things(route),
        "value": sorted(route.givers),
        "step": [words_for(number) for number in range(1, min(len(route.steps), MOST_CALLED) + 1)],
        "person": list(route.procedure.people),
    }


def things(route: Route) -> Sequence[str]:
    """Name what a note can be about: the groups, parts and tools of the route."""
    groups = {route.procedure.groups[step.tighten.group].spoken for step in route.steps if step.tighten}
    moved = {name for step in route.steps for name in (*step.use, *step.put_in, *step.take_out)}
    return sorted(groups | moved)
