"""Rows that later entries change: a wait that ends."""

from datetime import datetime

from assistant.job.events import TimerEnded, TimerStarted, TimerStopped
from assistant.record.counted import Counted
from assistant.record.model import Wait
from assistant.record.timeline import question_of


def waits(job: Counted) -> tuple[Wait, ...]:
    """List the waits in the order in which they began."""
    rows: list[Wait] = []
    current: dict[str, int] = {}
    for entry in job.counted:
        event = entry.event
        if isinstance(event, TimerStarted):
            current[event.step] = len(rows)
            rows.append(_wait(job, entry.at, event))
        elif isinstance(event, TimerEnded | TimerStopped):
            # Taking back an earlier turn lets a timer end a second time; the first time is when it was up.
            place = current.get(event.step)
            if place is not None and rows[place].ended is None:
                rows[place] = rows[place].model_copy(update=_ending(entry.at, event))
    return tuple(rows)


def _wait(job: Counted, at: datetime, event: TimerStarted) -> Wait:
    return Wait(
        number=job.number(event.step),
        step=event.step,
        seconds=event.seconds,
        began=at,
        ended=None,
        how="running",
        left_s=0.0,
        test=question_of(job.route, event.step),
        answer=job.answer(event.step),
    )


def _ending(at: datetime, event: TimerEnded | TimerStopped) -> dict[str, object]:
    if isinstance(event, TimerStopped):
        return {"ended": at, "how": "cut short", "left_s": event.left_s}
    return {"ended": at, "how": "waited out"}
