"""What is open in a job: everything that would be forgotten if it were closed now.

One table of finders, each with one kind of thing to look for; the dialogue speaks what they find,
the record prints it, and a job can be closed with open items only by saying so.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from assistant.job.state import JobState
from assistant.job.things import is_label, is_loose
from assistant.job.values import cause, is_outside, kept, stale
from assistant.job.way import open_steps, steps_of
from assistant.procedure.model import Step
from assistant.procedure.route import Route
from assistant.torque.ledger import PositionRecord, Standing, is_open

NAMED_PARTS: Final = 3
"""How many parts that are off are named in one breath; the rest are counted."""


@dataclass(frozen=True, kw_only=True)
class OpenItem:
    """One open thing: its kind, the step to go to for it, and what it is about.

    `positions` of a `group` share one `standing`; `what` names a tool, part or reason, `things` several parts.
    """

    kind: str
    step: str
    group: str = ""
    positions: tuple[int, ...] = ()
    standing: Standing | None = None
    what: str = ""
    things: tuple[str, ...] = ()
    count: int = 1


def open_items(route: Route, state: JobState) -> tuple[OpenItem, ...]:
    """List what is open, the fasteners first."""
    return tuple(item for find in FINDERS for item in find(route, state))


def after_heat(route: Route) -> tuple[str, ...]:
    """Name the groups that are tightened again after the first heat, where no step of the job does it."""
    in_job = {step.tighten.group for step in route.steps if step.tighten and step.tighten.after_heat}
    groups = route.procedure.groups
    tightened = _group_steps(route.steps)
    return tuple(name for name in tightened if groups[name].retorque_after_heat and name not in in_job)


def _positions(route: Route, state: JobState) -> Iterator[OpenItem]:
    for name, step in _group_steps(steps_of(route, state)).items():
        by_standing: dict[Standing, list[int]] = defaultdict(list)
        for position in range(1, route.procedure.groups[name].count + 1):
            record = state.ledger.get((name, position), PositionRecord())
            if is_open(record):
                by_standing[record.standing].append(position)
        for standing, positions in by_standing.items():
            yield OpenItem(
                kind="position", step=step, group=name, positions=tuple(positions), standing=standing
            )


def _group_steps(steps: Iterable[Step]) -> dict[str, str]:
    """Name, for each group, the last of the steps that tightens it: where it is to become final."""
    return {step.tighten.group: step.step for step in steps if step.tighten}


def _told_by_positions(route: Route, state: JobState) -> set[str]:
    """Name the tightening steps of groups that are open anyway; of a final group, a step can still be left."""
    groups = {item.group for item in _positions(route, state)}
    return {step.step for step in route.steps if step.tighten and step.tighten.group in groups}


def _steps(route: Route, state: JobState) -> Iterator[OpenItem]:
    told = {*state.suspect, *stale(route, state), *_told_by_positions(route, state)}
    for step in open_steps(route, state):
        if step.step not in told:
            yield OpenItem(kind="step", step=step.step)


def _suspect(route: Route, state: JobState) -> Iterator[OpenItem]:
    for step in open_steps(route, state):
        if step.step in state.suspect:
            yield OpenItem(kind="suspect", step=step.step, what=state.suspect[step.step])


def _skipped(route: Route, state: JobState) -> Iterator[OpenItem]:
    """Find steps left out, but for tightening ones whose positions speak for them."""
    told = _told_by_positions(route, state)
    for step in steps_of(route, state):
        if step.step in state.skipped and step.step not in told:
            yield OpenItem(kind="skipped", step=step.step, what=state.skipped[step.step])


def _where_it_began(route: Route, state: JobState, step: str) -> str:
    """Name the step to go to for what no step settles: where it began, so that it is one item wherever one reads."""
    return step if step in route.under else state.at or route.steps[0].step


def _inside(route: Route, state: JobState) -> Iterator[OpenItem]:
    for tool, count in sorted(state.inside.items()):
        out = (step.step for step in steps_of(route, state) if tool in step.take_out)
        went_in = next((step for step, how, name in state.counted if (how, name) == ("in", tool)), "")
        step = next(out, None) or _where_it_began(route, state, went_in)
        yield OpenItem(kind="inside", step=step, what=tool, count=count)


def _off(route: Route, state: JobState) -> Iterator[OpenItem]:
    """Find the parts that are not back, those of one step together."""
    by_step: dict[str, list[str]] = defaultdict(list)
    for thing, laid in state.off.items():
        back = (step.step for step in steps_of(route, state) if thing in step.put_back)
        if not is_loose(thing):
            by_step[next(back, None) or _where_it_began(route, state, laid.step)].append(thing)
    for step, things in by_step.items():
        yield OpenItem(kind="off", step=step, what=", ".join(things), things=tuple(things), count=len(things))


def _unlabelled(_route: Route, state: JobState) -> Iterator[OpenItem]:
    """Find parts that nobody would know again: without a label, or with one that nothing describes."""
    for thing, laid in state.off.items():
        if is_loose(thing):
            yield OpenItem(kind="unlabelled", step=laid.step, what=laid.place)
        elif is_label(thing) and thing not in state.labels:
            yield OpenItem(kind="undescribed", step=laid.step, what=thing)


def _supplies(route: Route, state: JobState) -> Iterator[OpenItem]:
    """Find what was to be put on at a step that is done, and was not."""
    for step in steps_of(route, state):
        for what in dict.fromkeys(supply.what for supply in route.supplies(step)):
            if step.step in state.done and (step.step, what) not in state.applied:
                yield OpenItem(kind="supply", step=step.step, what=what)


def _reused(route: Route, state: JobState) -> Iterator[OpenItem]:
    """Find parts that are used once and were used again."""
    for event in state.reused:
        if event.departure and any(event.step == step.step for step in steps_of(route, state)):
            yield OpenItem(kind="reused", step=event.step, what=f"{event.part}, {event.reason}")


def _kit(route: Route, state: JobState) -> Iterator[OpenItem]:
    for name, part in route.procedure.parts.items():
        step = next((step.step for step in steps_of(route, state) if name in step.use), None)
        left = part.count - state.parts.get(name, 0) - sum(event.part == name for event in state.reused)
        if step and left > 0:
            yield OpenItem(kind="kit", step=step, what=name, count=left)


def _measurements(route: Route, state: JobState) -> Iterator[OpenItem]:
    """Find values that no longer hold, that are outside their limits or in doubt, and readings that lack."""
    gone = stale(route, state)
    for step in route.valued:
        found = kept(state, step)
        if found is not None and step in gone:
            yield OpenItem(kind="stale", step=step, what=cause(route, state, step))
        elif found is not None and is_outside(state, step):
            yield OpenItem(kind="measurement", step=step, what=found.verdict)
        if step in state.readings and step in state.done:
            yield OpenItem(kind="readings", step=step, count=len(state.readings[step]))


def _waits(_route: Route, state: JobState) -> Iterator[OpenItem]:
    for step, timer in state.timers.items():
        if timer.cut_short_s:
            yield OpenItem(kind="wait", step=step)


FINDERS: Final[tuple[Callable[[Route, JobState], Iterator[OpenItem]], ...]] = (
    _positions,
    _inside,
    _off,
    _unlabelled,
    _supplies,
    _measurements,
    _waits,
    _reused,
    _kit,
    _suspect,
    _skipped,
    _steps,
)
"""One finder for each kind of open thing, the costliest to forget first."""
