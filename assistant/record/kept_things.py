"""The rows of a record for the kit, for what went in and out, and for what came off and where it lay."""

from collections import Counter, defaultdict
from datetime import datetime

from assistant.job.events import (
    LabelGiven,
    PartPlaced,
    PartRemoved,
    PartReturned,
    PartReused,
    PartTold,
    PartUsed,
    ToolMoved,
)
from assistant.record.counted import Counted
from assistant.record.thing_rows import Move, Part, Removed, Tool


def part_rows(job: Counted) -> tuple[Part, ...]:
    """List the kit of this route, and whatever else was fitted."""
    fitted: dict[str, list[datetime]] = defaultdict(list)
    for at, event in job.all(PartUsed):
        fitted[event.part].append(at)
    with_step = Counter(event.part for _, event in job.all(PartUsed) if event.with_step)
    reused = Counter(event.part for _, event in job.all(PartReused))
    kit = job.route.procedure.parts
    wanted = [part for part in kit if any(part in step.use for step in job.route.steps)]
    return tuple(
        Part(
            part=part,
            wanted=kit[part].count if part in kit else 0,
            use_once=part in kit and kit[part].use_once,
            fitted=tuple(fitted[part]),
            with_step=with_step[part],
            reused=reused[part],
        )
        for part in dict.fromkeys([*wanted, *fitted, *reused])
    )


def tool_rows(job: Counted) -> tuple[Tool, ...]:
    """List what went into the machine, with its moves."""
    moves: dict[str, list[Move]] = defaultdict(list)
    for at, event in job.all(ToolMoved):
        moves[event.tool].append(Move(inside=event.inside, at=at, with_step=event.with_step))
    return tuple(
        Tool(tool=tool, inside=tool in job.state.inside, moves=tuple(moved)) for tool, moved in moves.items()
    )


def removed_rows(job: Counted) -> tuple[Removed, ...]:
    """List what came off, in that order; what came off again has a row for each time."""
    rows: list[Removed] = []
    for entry in job.counted:
        event = entry.event
        if isinstance(event, PartRemoved):
            rows.append(_row(job, event.thing, event.step, entry.at, event.place))
        elif isinstance(event, LabelGiven):
            _labelled(job, rows, event, entry.at)
        elif isinstance(event, PartPlaced | PartTold | PartReturned):
            _change(rows, event, entry.at)
    return tuple(rows)


def _row(job: Counted, thing: str, step: str, at: datetime, place: str) -> Removed:
    number = job.number(step)
    return Removed(thing=thing, number=number, step=step, at=at, place=place, told=(), note="", back=None)


def _last(rows: list[Removed], thing: str) -> int | None:
    """Find the row of a part that is off."""
    found = (number for number in reversed(range(len(rows))) if rows[number].thing == thing)
    number = next(found, None)
    return None if number is None or rows[number].back else number


def _labelled(job: Counted, rows: list[Removed], event: LabelGiven, at: datetime) -> None:
    number = _last(rows, event.label)
    row = _row(job, event.label, event.step, at, "") if number is None else rows.pop(number)
    note = next((note.file for note in job.state.notes if note.number == event.note), "")
    rows.insert(len(rows) if number is None else number, row.model_copy(update={"note": note}))


def _change(rows: list[Removed], event: PartPlaced | PartTold | PartReturned, at: datetime) -> None:
    number = _last(rows, event.thing)
    if number is None:
        return
    row = rows[number]
    if isinstance(event, PartPlaced):
        rows[number] = row.model_copy(update={"place": event.place})
    elif isinstance(event, PartTold):
        rows[number] = row.model_copy(update={"told": (*row.told, event.answer)})
    else:
        rows[number] = row.model_copy(update={"back": at, "with_step": event.with_step})
