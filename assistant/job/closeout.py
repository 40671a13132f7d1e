"""What is open in a job: everything that would be forgotten if it were closed now.

One table of finders, each with one kind of thing to look for; the dialogue speaks what they find,
the record prints it, and a job can be closed with open items only by saying so.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from assistant.job.state import JobState
from assistant.job.way import open_steps, steps_of
from assistant.procedure.model import Step
from assistant.procedure.route import Route
from assistant.torque.ledger import PositionRecord, Standing, is_open


@dataclass(frozen=True, kw_only=True)
class OpenItem:
    """One open thing: its kind, the step to go to for it, and what it is about.

    `positions` of a `group` share one `standing`; `what` names a tool, part or reason.
    """

    kind: str
    step: str
    group: str = ""
    positions: tuple[int, ...] = ()
    standing: Standing | None = None
    what: str = ""
    count: int = 1


def open_items(route: Route, state: JobState) -> tuple[OpenItem, ...]:
    """List what is open, the fasteners first."""
    return tuple(item for find in FINDERS for item in find(route, state))


def after_heat(route: Route) -> tuple[str, ...]:
    """Name the groups that are tightened again after the first heat, which no job can have done before."""
    return tuple(
        name for name in _group_steps(route.steps) if route.procedure.groups[name].retorque_after_heat
    )


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
    told = _told_by_positions(route, state)
    for step in open_steps(route, state):
        if step.step not in told and step.step not in state.suspect:
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


def _inside(route: Route, state: JobState) -> Iterator[OpenItem]:
    for tool in sorted(state.inside):
        step = next((step.step for step in route.steps if tool in step.take_out), state.at)
        yield OpenItem(kind="inside", step=step, what=tool)


def _kit(route: Route, state: JobState) -> Iterator[OpenItem]:
    for name, part in route.procedure.parts.items():
        step = next((step.step for step in steps_of(route, state) if name in step.use), None)
        left = part.count - state.parts.get(name, 0)
        if step and left > 0:
            yield OpenItem(kind="kit", step=step, what=name, count=left)


def _measurements(_route: Route, state: JobState) -> Iterator[OpenItem]:
    for step, measured in state.measured.items():
        if measured.verdict != "in" and step not in state.accepted:
            yield OpenItem(kind="measurement", step=step, what=measured.verdict)


def _waits(_route: Route, state: JobState) -> Iterator[OpenItem]:
    for step, timer in state.timers.items():
        if timer.cut_short_s:
            yield OpenItem(kind="wait", step=step)


FINDERS: Final[tuple[Callable[[Route, JobState], Iterator[OpenItem]], ...]] = (
    _positions,
    _inside,
    _measurements,
    _waits,
    _kit,
    _suspect,
    _skipped,
    _steps,
)
"""One finder for each kind of open thing, the costliest to forget first."""
