"""Rows that later entries change: a measurement that is repeated, a wait that ends."""

from datetime import datetime

from assistant.job.events import Measured, MeasurementAccepted, TimerEnded, TimerStarted, TimerStopped
from assistant.record.counted import Counted
from assistant.record.model import Measurement, Wait
from assistant.record.timeline import question_of


def measurements(job: Counted) -> tuple[Measurement, ...]:
    """List the measurements in order; only the last of a step stands, with its acceptance if it has one."""
    rows: list[Measurement] = []
    current: dict[str, int] = {}
    for entry in job.counted:
        event = entry.event
        if isinstance(event, Measured):
            if event.step in current:
                rows[current[event.step]] = rows[current[event.step]].model_copy(update={"stands": False})
            current[event.step] = len(rows)
            rows.append(_measurement(job, entry.at, event))
        elif isinstance(event, MeasurementAccepted) and event.step in current:
            place = current[event.step]
            rows[place] = rows[place].model_copy(update={"accepted": event.reason})
    return tuple(rows)


def _measurement(job: Counted, at: datetime, event: Measured) -> Measurement:
    wanted = job.route.step(event.step).measure
    return Measurement(
        number=job.number(event.step),
        step=event.step,
        what=wanted.what if wanted else event.step,
        value=event.value,
        least=wanted.least if wanted else None,
        most=wanted.most if wanted else None,
        gauge=wanted.gauge if wanted else None,
        verdict=event.verdict,
        accepted="",
        stands=True,
        at=at,
    )


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
