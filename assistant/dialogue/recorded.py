"""What a turn recorded, in words: one row for each kind of event that can be taken back."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from assistant.dialogue.reply import Line, Slot
from assistant.dialogue.supplies import place_words
from assistant.dialogue.turn import Turn
from assistant.job.events import (
    CheckAnswered,
    CloseOutPassed,
    DamageMended,
    DecisionTaken,
    Event,
    GroupLoosened,
    LabelGiven,
    Measured,
    MeasurementAccepted,
    OpenAccepted,
    PartPlaced,
    PartRemoved,
    PartReturned,
    PartReused,
    PartTold,
    PartUsed,
    PassReopened,
    PositionMarked,
    PositionReopened,
    PositionTurned,
    PositionWorked,
    ReadingsReopened,
    ReadingTaken,
    StepDone,
    StepReopened,
    StepSkipped,
    SupplyApplied,
    SuspectCleared,
    TimerStarted,
    TimerStopped,
    ToolMoved,
    ValueDoubted,
    WorkedBefore,
    WorkedOut,
)

Row = Callable[[Turn, Any], Line]


def event_line(turn: Turn, events: tuple[Event, ...]) -> Line:
    """Say what a turn recorded, by the first event of it: what only came of that was recorded after it."""
    event = events[0]
    count = sum(isinstance(each, PositionWorked) for each in events)
    if isinstance(event, PositionWorked) and count > 1:
        return Line("undone.positions", {**_group(turn, event), "count": count})
    if isinstance(event, Measured | WorkedOut) and any(isinstance(each, StepDone) for each in events):
        return _step("undone.step")(turn, event)
    return ROWS[type(event)](turn, event)


def _step(key: str) -> Row:
    """Make a row that names the event's step."""
    return lambda turn, event: Line(key, {"number": turn.step_number(event.step)})


def _thing(key: str, slot: str = "thing") -> Row:
    """Make a row that names the event's part, label, tool or supply, which is kept in a field of it."""
    return lambda _turn, event: Line(key, {"what": getattr(event, slot)})


def _laid(_turn: Turn, event: PartRemoved | PartPlaced) -> Line:
    """Say that a part came off, or where it was laid."""
    if event.place:
        return Line("undone.laid", {"what": event.thing, "where": place_words(event.place)})
    return Line("undone.off", {"what": event.thing})


def _group(turn: Turn, event: Any) -> dict[str, Slot]:
    return {"group": turn.route.procedure.groups[event.group].spoken}


def _act(turn: Turn, event: Any) -> Line:
    return Line("undone.position", {**_group(turn, event), "position": event.act.position})


def _position(key: str, slot: str = "") -> Row:
    """Make a row that names the event's position, and one more word of it."""

    def line(turn: Turn, event: Any) -> Line:
        more = {slot: getattr(event, slot)} if slot else {}
        return Line(key, {**_group(turn, event), "position": event.position, **more})

    return line


def _pass(turn: Turn, event: PassReopened) -> Line:
    count = len(event.positions)
    if not count:
        return Line("undone.wrench", {"what": event.wrench})
    return Line("undone.pass", {**_group(turn, event), "positions": event.positions, "count": count})


def _before(turn: Turn, event: WorkedBefore) -> Line:
    numbers = {"number": turn.step_number(event.step), "missing": turn.step_number(event.missing)}
    return Line("undone.before", numbers)


ROWS: Final[Mapping[type, Row]] = {
    **dict.fromkeys((StepDone, CheckAnswered, DecisionTaken), _step("undone.step")),
    StepSkipped: _step("undone.skipped"),
    StepReopened: _step("undone.reopened"),
    SuspectCleared: _step("undone.cleared"),
    WorkedBefore: _before,
    GroupLoosened: lambda turn, event: Line("undone.loosened", _group(turn, event)),
    OpenAccepted: lambda _turn, event: Line("undone.accepted", {"reason": event.reason}),
    CloseOutPassed: lambda _turn, _event: Line("undone.close-out"),
    PositionWorked: _act,
    PositionTurned: _act,
    PositionReopened: _position("undone.again"),
    PassReopened: _pass,
    PositionMarked: _position("undone.marked", "why"),
    DamageMended: _position("undone.mended", "remedy"),
    **dict.fromkeys((Measured, WorkedOut), _step("undone.value")),
    MeasurementAccepted: _step("undone.let-stand"),
    ReadingTaken: _step("undone.reading"),
    ReadingsReopened: _step("undone.anew"),
    ValueDoubted: _step("undone.doubted"),
    TimerStarted: _step("undone.timer"),
    TimerStopped: _step("undone.cut-short"),
    **dict.fromkeys((PartRemoved, PartPlaced), _laid),
    PartTold: lambda _turn, event: Line("undone.told", {"what": event.thing, "answer": event.answer}),
    PartReturned: _thing("undone.put-back"),
    LabelGiven: _thing("undone.label", "label"),
    PartUsed: _thing("undone.fitted", "part"),
    PartReused: _thing("undone.reused", "part"),
    ToolMoved: lambda _turn, event: Line(
        "undone.tool-in" if event.inside else "undone.tool-out", {"what": event.tool}
    ),
    SupplyApplied: _thing("supply.applied", "what"),
}
"""How each kind of event that `undo` takes back is said; a test holds it against the fold's list."""
