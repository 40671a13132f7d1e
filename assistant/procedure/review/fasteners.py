"""Groups of fasteners: what is never tightened, never finished, or tightened to what cannot be meant."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from assistant.procedure.finding import Finding, Path
from assistant.procedure.review.ways import Looked, Way
from assistant.torque.group import FastenerGroup
from assistant.torque.plan import expand
from assistant.torque.spellings import INCH_UNITS
from assistant.torque.threads import is_listed
from assistant.torque.units import Quantity
from assistant.torque.values import doubted_values

_BY_FEEL = ("hand", "snug")


def doubted(looked: Looked) -> Iterator[Finding]:
    """Find torques that the fastener cannot bear, or that look like another unit."""
    for name, group in looked.procedure.groups.items():
        for each in doubted_values(group):
            yield Finding(
                path=("groups", name, "stages", each.stage - 1),
                what=f"{name}, stage {each.stage}: {each.verdict.text}",
                do="look into the manual again, or correct thread, class or condition",
            )


def unused(looked: Looked) -> Iterator[Finding]:
    """Find groups that no step tightens."""
    tightened = {step.tighten.group for step in looked.procedure.steps if step.tighten}
    for name in looked.procedure.groups:
        if name not in tightened:
            yield Finding(
                path=("groups", name),
                what=f"no step tightens the group {name}",
                do=f"write tighten: {name} at a step, or take the group out",
            )


def unfinished(looked: Looked) -> Iterator[Finding]:
    """Find stages that are left out on some way on which their group is begun."""
    for name, group in looked.procedure.groups.items():
        begun = {way: done for way in looked.ways if (done := _stages_done(looked, way, name))}
        lacking = [(way, left) for way, done in begun.items() if (left := sorted(_all_stages(group) - done))]
        if lacking:
            way, left = lacking[0]
            yield _left_out(name, group, left, way.case(always=len(lacking) == len(begun)))


def _stages_done(looked: Looked, way: Way, name: str) -> set[int]:
    return {stage for _, stages in _tightenings(looked, way, name) for stage in stages}


def _left_out(name: str, group: FastenerGroup, left: Sequence[int], case: str) -> Finding:
    acts = expand(group)
    below = sorted({act.position for act in acts if act.last_stage and act.stage in left})
    stages = f"stage{'s' if len(left) > 1 else ''} {', '.join(map(str, left))}"
    end = "; every position stays below final" if len(below) == group.count else ""
    if below and not end:
        end = f"; position {', '.join(map(str, below))} stays below final"
    return Finding(
        path=("groups", name, "stages", left[0] - 1),
        what=f"no step brings {name} to {stages}{case}{end}",
        do=f"write tighten: {{group: {name}, stages: [{', '.join(map(str, left))}]}} at a step",
    )


def out_of_turn(looked: Looked) -> Iterator[Finding]:
    """Find steps that bring a group to a lower stage than a step before."""
    for name in looked.procedure.groups:
        for way in looked.ways:
            done = list(_tightenings(looked, way, name))
            if wrong := next((pair for pair in pairwise(done) if pair[0][1][-1] >= pair[1][1][0]), None):
                (_, high), (place, low) = wrong
                step = looked.procedure.steps[place].step
                yield Finding(
                    path=("steps", place, "tighten"),
                    what=f"step {step} brings {name} to stage {low[0]}, which stage {high[-1]} of a step before"
                    " has passed",
                    do="give each stage to one step, in the order of the stages",
                )
                break


def by_feel_only(looked: Looked) -> Iterator[Finding]:
    """Find groups that no stage brings to a value."""
    for name, group in looked.procedure.groups.items():
        if group.stages and all(stage.kind in _BY_FEEL for stage in group.stages):
            yield Finding(
                path=("groups", name, "stages"),
                what=f"{name} is never brought to a torque or an angle",
                do="add the final value as a stage, if the manual has one",
            )


def not_judged(looked: Looked) -> Iterator[Finding]:
    """Find groups with torques that cannot be judged: thread or class is not told, or the thread not known."""
    for name, group in looked.procedure.groups.items():
        if not any(stage.reaches == "torque" for stage in group.stages):
            continue
        needed = {"thread": group.thread, "class": group.property_class}
        lacking = [key for key, told in needed.items() if not told]
        if group.thread and not is_listed(group.thread):
            yield Finding(
                path=("groups", name, "thread"),
                what=f"the torques of {name} are not judged: {group.thread!r} is no listed thread",
                do="write it as M10, M10x1.25 or 1/4-20, or look at each value twice",
            )
        elif lacking:
            yield Finding(
                path=("groups", name),
                what=f"the torques of {name} are not judged: {' and '.join(lacking)} not told",
                do=f"add {' and '.join(f'{key}:' for key in lacking)} to the group",
            )


def unlike_units(looked: Looked) -> Iterator[Finding]:
    """Find groups and limits that have both inch and metric units: no manual writes one value in each."""
    for name, group in looked.procedure.groups.items():
        torques = (
            (number, stage.end) for number, stage in enumerate(group.stages) if stage.reaches == "torque"
        )
        yield from _unlike(name, ("groups", name, "stages"), torques)
    for place, step in enumerate(looked.procedure.steps):
        if step.value:
            key = "measure" if step.measure else "work_out"
            limits = ((end, getattr(step.value, end)) for end in ("least", "most"))
            yield from _unlike(step.value.what, ("steps", place, key), limits)


def _unlike(what: str, path: Path, values: Iterable[tuple[str | int, object]]) -> Iterator[Finding]:
    """Find the first value that is not of the kind of the one before; what is no plain value is passed over."""
    given = [(key, value) for key, value in values if isinstance(value, Quantity)]
    for (_, first), (key, second) in pairwise(given):
        if (first.unit in INCH_UNITS) != (second.unit in INCH_UNITS):
            yield Finding(
                path=(*path, key),
                what=f"{what}: {first} and {second} stand beside each other, one metric and one in inch units",
                do="write both in the unit of the manual",
            )
            return


def _tightenings(looked: Looked, way: Way, name: str) -> Iterator[tuple[int, tuple[int, ...]]]:
    """Give each step of a way that works on a group: its place, and the stages (from 1) that it goes through."""
    for place, step in looked.steps(way):
        if step.tighten and step.tighten.group == name and not step.tighten.after_heat:
            stages = step.tighten.stages or _all_stages(looked.procedure.groups[name])
            yield place, tuple(sorted(stages))


def _all_stages(group: FastenerGroup) -> set[int]:
    return set(range(1, len(group.stages) + 1))
