"""The fastener groups of a record: every position with what was done there and how it stands."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime

from assistant.job.events import PositionWorked
from assistant.job.state import JobState
from assistant.procedure.route import Route
from assistant.record.model import Group, Position, Work
from assistant.record.words import stage_words, title
from assistant.record.wrenches import setting_of
from assistant.torque.group import FastenerGroup
from assistant.torque.ledger import PositionRecord, Standing
from assistant.torque.plan import left_by

Worked = Sequence[tuple[datetime, PositionWorked]]


def group_rows(route: Route, state: JobState, worked: Worked) -> tuple[Group, ...]:
    """List the groups that the route tightens or that were worked on, in the author's order."""
    on_route = {step.tighten.group for step in route.steps if step.tighten}
    touched = {event.group for _, event in worked}
    return tuple(
        _group(group, state, [(at, event) for at, event in worked if event.group == name], route)
        for name, group in route.procedure.groups.items()
        if name in on_route | touched
    )


def _group(group: FastenerGroup, state: JobState, worked: Worked, route: Route) -> Group:
    by_position: dict[int, list[tuple[datetime, PositionWorked]]] = defaultdict(list)
    for at, event in worked:
        by_position[event.act.position].append((at, event))
    positions = tuple(
        _position(group, position, state, by_position[position], route) for position in group.positions
    )
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


def _position(group: FastenerGroup, position: int, state: JobState, worked: Worked, route: Route) -> Position:
    record = state.ledger.get((group.name, position), PositionRecord())
    acts = [event.act for _, event in worked]
    return Position(
        position=position,
        state=record,
        final=left_by(acts) if record.standing is Standing.FINAL else (),
        length=group.lengths.get(position),
        works=tuple(_work(at, event, route) for at, event in worked),
    )


def _work(at: datetime, event: PositionWorked, route: Route) -> Work:
    act = event.act
    return Work(
        stage=act.stage,
        round=act.round,
        kind=act.kind,
        value=act.value,
        until=act.until,
        in_order=event.in_order,
        wrench=event.wrench,
        setting=setting_of(route, event),
        at=at,
    )
