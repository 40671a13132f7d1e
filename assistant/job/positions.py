"""What events do to the positions of a group: one part of the fold; its rules are those of `torque.ledger`."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from assistant.job.events import (
    DamageMended,
    GroupLoosened,
    PassReopened,
    PositionMarked,
    PositionReopened,
    PositionTurned,
    PositionWorked,
)
from assistant.job.state import JobState
from assistant.torque.ledger import PositionRecord, after, begun_afresh, marked, reopened, turned


def _record(state: JobState, group: str, position: int) -> PositionRecord:
    return state.ledger.get((group, position), PositionRecord())


def _with(state: JobState, group: str, records: Mapping[int, PositionRecord]) -> JobState:
    placed = {(group, position): record for position, record in records.items()}
    return replace(state, ledger={**state.ledger, **placed})


def _done(state: JobState, group: str, *, add: Iterable[int] = (), drop: Iterable[int] = ()) -> JobState:
    acts = (state.acts.get(group, frozenset()) | set(add)) - set(drop)
    return replace(state, acts={**state.acts, group: acts})


def _worked(state: JobState, event: PositionWorked, _at: datetime) -> JobState:
    position = event.act.position
    record = after(_record(state, event.group, position), event.act, in_order=event.in_order)
    done = _done(state, event.group, add=(event.number, *event.spared))
    return _with(done, event.group, {position: record})


def _turned(state: JobState, event: PositionTurned, _at: datetime) -> JobState:
    record = turned(_record(state, event.group, event.act.position))
    left = replace(state, turned={**state.turned, event.group: event.number})
    return _with(left, event.group, {event.act.position: record})


def _reopened(state: JobState, event: PositionReopened, _at: datetime) -> JobState:
    left = _done(state, event.group, drop=(event.number, *event.leading_up))
    return _with(left, event.group, {event.position: reopened(_record(state, event.group, event.position))})


def _pass_reopened(state: JobState, event: PassReopened, _at: datetime) -> JobState:
    left = _done(state, event.group, drop=event.numbers)
    records = {p: reopened(_record(state, event.group, p), event.because) for p in event.positions}
    aside = left.laid_aside | ({event.wrench} - {""})
    return _with(replace(left, laid_aside=aside), event.group, records)


def _marked(state: JobState, event: PositionMarked, _at: datetime) -> JobState:
    record = marked(_record(state, event.group, event.position), event.standing, event.why)
    return _with(state, event.group, {event.position: record})


def _mended(state: JobState, event: DamageMended, _at: datetime) -> JobState:
    record = _record(state, event.group, event.position)
    why = f"{record.why}; {event.remedy}" if record.why else event.remedy
    mended = "; ".join(part for part in (record.mended, why) if part)
    record = begun_afresh(why, mended) if event.afresh else record.model_copy(update={"why": why})
    return _with(_done(state, event.group, drop=event.numbers), event.group, {event.position: record})


def _loosened(state: JobState, event: GroupLoosened, _at: datetime) -> JobState:
    why = "loosened again"
    records = {
        position: begun_afresh(why, record.mended)
        for (group, position), record in state.ledger.items()
        if group == event.group
    }
    left = replace(state, acts={**state.acts, event.group: frozenset()})
    return _with(left, event.group, records)


POSITION_FOLDS: Final[Mapping[type, Callable[[JobState, Any, datetime], JobState]]] = {
    PositionWorked: _worked,
    PositionTurned: _turned,
    PositionReopened: _reopened,
    PassReopened: _pass_reopened,
    PositionMarked: _marked,
    DamageMended: _mended,
    GroupLoosened: _loosened,
}
"""What each kind of event at a position does to the state."""
