"""The rows of what was measured and worked out, in order; later entries change those before them."""

from datetime import datetime
from typing import Any

from assistant.job.events import Measured, MeasurementAccepted, WorkedOut
from assistant.job.measurements import LATER
from assistant.job.values import stale
from assistant.measures.readings import readable, series_of
from assistant.procedure.values import Measure, WorkOut
from assistant.record.counted import Counted
from assistant.record.model import Measurement
from assistant.torque.units import Quantity


def measurements(job: Counted) -> tuple[Measurement, ...]:
    """List the values in order; only the last of a step stands, with its acceptance if it has one."""
    rows: list[Measurement] = []
    current: dict[str, int] = {}
    gone = stale(job.route, job.state)
    for entry in job.counted:
        event = entry.event
        if isinstance(event, Measured | WorkedOut):
            if event.step in current:
                _change(rows, current[event.step], stands=False, stale=False)
            current[event.step] = len(rows)
            rows.append(_row(job, entry.at, event, stale=event.step in gone))
        elif isinstance(event, MeasurementAccepted) and event.step in current and event.reason != LATER:
            _change(rows, current[event.step], accepted=event.reason)
    return tuple(rows)


def _change(rows: list[Measurement], place: int, **changed: Any) -> None:
    rows[place] = rows[place].model_copy(update=changed)


def _row(job: Counted, at: datetime, event: Measured | WorkedOut, *, stale: bool) -> Measurement:
    step = job.route.step(event.step)
    wanted = step.value
    least, most = _limits(event, wanted)
    doubt = event.doubt or (step.measure.gauge if step.measure else None)
    return Measurement(
        number=job.number(event.step),
        step=event.step,
        what=wanted.what if wanted else event.step,
        value=readable(event.value),
        least=least,
        most=most,
        gauge=doubt and readable(doubt),
        verdict=event.verdict,
        accepted="",
        stands=True,
        at=at,
        inputs={name: readable(value) for name, value in event.inputs.items()},
        stale=stale,
        **(_readings(event) if isinstance(event, Measured) else _worked(step.work_out, event)),
    )


def _limits(
    event: Measured | WorkedOut, wanted: Measure | WorkOut | None
) -> tuple[Quantity | None, Quantity | None]:
    """Give the limits that it was judged by; of an older journal, those of the procedure."""
    least, most = event.least, event.most
    if least is None and most is None and wanted is not None:
        least, most = (
            limit if isinstance(limit, Quantity) else None for limit in (wanted.least, wanted.most)
        )
    return least and readable(least), most and readable(most)


def _readings(event: Measured) -> dict[str, Any]:
    if not event.readings:
        return {}
    series = series_of(event.readings)
    deviation = series.deviation and readable(series.deviation)
    return {"readings": event.readings, "spread": readable(series.spread), "deviation": deviation}


def _worked(wanted: WorkOut | None, event: WorkedOut) -> dict[str, Any]:
    return {
        "formula": str(wanted.value) if wanted else "",
        "size": event.size,
        "leaves": event.leaves and readable(event.leaves),
        "leaves_what": wanted.leaves.what if wanted and wanted.leaves else "",
    }
