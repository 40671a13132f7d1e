"""The fastener groups of a record: every position with what was done there and how it stands."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime
from typing import NamedTuple

from assistant.job.events import PositionWorked
from assistant.procedure.route import Route
from assistant.record.counted import Counted
from assistant.record.done_over import DoneOver, done_over
from assistant.record.model import Group, Position, Work
from assistant.record.words import stage_words, title
from assistant.record.wrenches import setting_of
from assistant.torque.group import FastenerGroup
from assistant.torque.ledger import PositionRecord, Standing
from assistant.torque.plan import left_by


class _Worked(NamedTuple):
    """An act that was recorded, when, and why it no longer counts, if it does not."""

    at: datetime
    event: PositionWorked
    over: DoneOver | None


def group_rows(job: Counted) -> tuple[Group, ...]:
    """List the groups that the route tightens or that were worked on, in the author's order."""
    over = done_over(job.counted)
    worked: dict[str, list[_Worked]] = defaultdict(list)
    for entry in job.counted:
        if isinstance(entry.event, PositionWorked):
            worked[entry.event.group].append(_Worked(entry.at, entry.event, over.get(entry.seq)))
    on_route = {step.tighten.group for step in job.route.steps if step.tighten}
    return tuple(
        _group(job, group, worked[name])
        for name, group in job.route.procedure.groups.items()
        if name in on_route | worked.keys()
    )


def _group(job: Counted, group: FastenerGroup, worked: Sequence[_Worked]) -> Group:
    by_position: dict[int, list[_Worked]] = defaultdict(list)
    for work in worked:
        by_position[work.event.act.position].append(work)
    positions = tuple(_position(job, group, position, by_position[position]) for position in group.positions)
    return Group(
        name=group.name,
        title=title(group),
        thread=group.thread or "",
        property_class=group.property_class or "",
        condition=group.condition or "",
        left_hand=group.left_hand,
        retorque_after_heat=group.retorque_after_heat,
        order=group.sequence() if group.order_matters() else (),
        stages=tuple(stage_words(stage) for stage in group.stages),
        positions=positions,
        final=sum(position.state.standing is Standing.FINAL for position in positions),
    )


def _position(job: Counted, group: FastenerGroup, position: int, worked: Sequence[_Worked]) -> Position:
    record = job.state.ledger.get((group.name, position), PositionRecord())
    acts = [work.event.act for work in worked]
    return Position(
        position=position,
        state=record,
        final=left_by(acts) if record.standing is Standing.FINAL else (),
        length=group.lengths.get(position),
        works=tuple(_work(work, job.route) for work in worked),
    )


def _work(work: _Worked, route: Route) -> Work:
    event, act = work.event, work.event.act
    return Work(
        stage=act.stage,
        round=act.round,
        kind=act.kind,
        value=act.value,
        until=act.until,
        in_order=event.in_order,
        wrench=event.wrench,
        setting=setting_of(route, event),
        at=work.at,
        done_over=work.over,
    )
