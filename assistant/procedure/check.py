"""An author's mistakes that the shape of the file cannot show: names that are not there, and the like.

Each finding says where it is (the path of keys, as pydantic gives it), what is wrong and what to
write instead; `procedure.load` turns the path into a line.
"""

from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from typing import Final

from assistant.procedure.check_values import value_findings
from assistant.procedure.conditions import decision_of
from assistant.procedure.finding import Finding, Path
from assistant.procedure.model import Procedure, Step


def findings(procedure: Procedure) -> tuple[Finding, ...]:
    """Find every mistake, in the order of the file."""
    return tuple(found for finder in _FINDERS for found in finder(procedure))


def _doubled(procedure: Procedure) -> Iterator[Finding]:
    seen: set[str] = set()
    for number, step in enumerate(procedure.steps):
        if step.step in seen:
            yield Finding(
                path=("steps", number, "step"), what=f"two steps are named {step.step}", do="rename one"
            )
        seen.add(step.step)


def _references(step: Step) -> Iterator[tuple[str, str, str]]:
    """Give (key in the step, section of the procedure, name) for every name a step refers to."""
    if step.tighten:
        yield "tighten", "groups", step.tighten.group
    for key in ("use", "take_off", "put_back"):
        for name in getattr(step, key):
            yield key, "parts", name
    for key in ("put_in", "take_out"):
        for name in getattr(step, key):
            yield key, "tools", name


def _unknown_names(procedure: Procedure) -> Iterator[Finding]:
    for number, step in enumerate(procedure.steps):
        for key, section, name in _references(step):
            known = tuple(getattr(procedure, section))
            if name not in known:
                yield Finding(
                    path=("steps", number, key),
                    what=f"step {step.step} names {name!r}, which is not among the {section}",
                    do=_nearest(name, known, section),
                )


def _nearest(name: str, known: tuple[str, ...], section: str) -> str:
    close = get_close_matches(name, known, n=1)
    return f"write {close[0]}" if close else f"add it to {section}"


def _stages(procedure: Procedure) -> Iterator[Finding]:
    for number, step in enumerate(procedure.steps):
        group = procedure.groups.get(step.tighten.group) if step.tighten else None
        if group is None or step.tighten is None:
            continue
        if not group.stages:
            yield Finding(
                path=("steps", number, "tighten"),
                what=f"step {step.step} tightens {group.name}, which has no stages",
                do="add stages: to the group",
            )
        if step.tighten.after_heat and not group.retorque_after_heat:
            yield Finding(
                path=("steps", number, "tighten"),
                what=f"{group.name} is not said to be tightened again after the first heat",
                do="add retorque_after_heat: true to the group",
            )
        if group.stages and (
            wrong := [stage for stage in step.tighten.stages if not 1 <= stage <= len(group.stages)]
        ):
            yield Finding(
                path=("steps", number, "tighten", "stages"),
                what=f"{group.name} has no stage {wrong[0]}",
                do=f"write stages from 1 to {len(group.stages)}",
            )


def _routes(procedure: Procedure) -> Iterator[Finding]:
    known = tuple(step.step for step in procedure.steps)
    for route, names in procedure.routes.items():
        for place, name in enumerate(names):
            if name not in known:
                yield Finding(
                    path=("routes", route, place),
                    what=f"the route {route} names step {name!r}, which is not there",
                    do=_nearest(name, known, "steps"),
                )


def _conditions(procedure: Procedure) -> Iterator[Finding]:
    decided: list[str] = []
    for number, step in enumerate(procedure.steps):
        for condition in step.when:
            name = decision_of(condition)[0]
            if name not in decided:
                yield Finding(
                    path=("steps", number, "when"),
                    what=f"step {step.step} depends on {name!r}, which no step before it decides",
                    do=_nearest(name, tuple(decided), "an earlier step as decide"),
                )
        if step.decide and step.decide.name in decided:
            yield Finding(
                path=("steps", number, "decide"),
                what=f"{step.decide.name!r} is decided twice",
                do="decide it once, or give it another name",
            )
        decided += [step.decide.name] if step.decide else []


def _rests(procedure: Procedure) -> Iterator[Finding]:
    earlier: list[str] = []
    named = {step.step: step.rests_on or () for step in procedure.steps}
    circles = {step for step in named if step in _beneath(named, step)}
    for number, step in enumerate(procedure.steps):
        for name in step.rests_on or ():
            path: Path = ("steps", number, "rests_on")
            if name in earlier:
                continue
            if step.step in circles and name in circles:
                what = f"step {step.step} rests on {name!r}, and that in the end on {step.step}: a circle"
                yield Finding(
                    path=path, what=what, do=f"take {name} out of its rests_on, or the other way round"
                )
            elif name in named:
                what = f"step {step.step} rests on {name!r}, which comes after it"
                yield Finding(path=path, what=what, do=f"put {name} before it")
            else:
                what = f"step {step.step} rests on {name!r}, which is no step before it"
                yield Finding(path=path, what=what, do=_nearest(name, tuple(earlier), "the steps before it"))
        earlier.append(step.step)


def _beneath(named: Mapping[str, tuple[str, ...]], step: str) -> set[str]:
    """Give all that a step rests on by name, at first or second hand."""
    found: set[str] = set()
    left = list(named[step])
    while left:
        if (name := left.pop()) not in found:
            found.add(name)
            left += named.get(name, ())
    return found


def _first_start(procedure: Procedure) -> Iterator[Finding]:
    known = tuple(step.step for step in procedure.steps)
    for place, name in enumerate(procedure.first_start):
        if name not in known:
            yield Finding(
                path=("first_start", place),
                what=f"first_start names step {name!r}, which is not there",
                do=_nearest(name, known, "steps"),
            )


def _before_first_start(procedure: Procedure) -> Iterator[Finding]:
    """Find steps that rest on one that comes after close-out, and do not come after it themselves."""
    late: set[str] = set()
    before = ""
    for number, step in enumerate(procedure.steps):
        below = {before} if step.rests_on is None else set(step.rests_on)
        if step.step in procedure.first_start:
            late.add(step.step)
        elif wrong := sorted(below & late):
            yield Finding(
                path=("steps", number, "step"),
                what=f"step {step.step} rests on {wrong[0]}, which comes with the first start",
                do="put it into first_start too, or before it",
            )
        before = step.step


def _hold_points(procedure: Procedure) -> Iterator[Finding]:
    for number, step in enumerate(procedure.steps):
        if step.check and step.check.hold and not procedure.people:
            yield Finding(
                path=("steps", number, "check"),
                what=f"step {step.step} is a hold point, and nobody is named who could have seen it",
                do="add people: with their names",
            )


_FINDERS: Final = (
    _doubled,
    _unknown_names,
    _stages,
    _routes,
    _conditions,
    _rests,
    _first_start,
    _before_first_start,
    _hold_points,
    value_findings,
)
