"""The torque wrenches of a job: as the shop's list was when the job began, and what each was set to."""

from collections import Counter

from assistant.errors import RecordError, TorqueError
from assistant.job.events import PositionWorked
from assistant.procedure.model import Adapter
from assistant.procedure.route import Route
from assistant.procedure.yaml_text import Form
from assistant.record.counted import Counted
from assistant.record.model import Wrench
from assistant.torque.adapter import setting_for
from assistant.torque.rounding import for_wrench, rounded
from assistant.torque.units import Quantity
from assistant.torque.wrench import USUAL_TOLERANCE, Shop

_FORM = Form(Shop, RecordError, "a list of a shop's tools", "begin it with wrenches: and a list")


def read_shop(text: str | None, name: str) -> Shop:
    """Read a job's copy of the shop's list; no wrenches where it has none. Raises RecordError."""
    return _FORM.fill(_FORM.read(text, name), name) if text is not None else Shop()


def wrenches(job: Counted) -> tuple[Wrench, ...]:
    """List the wrenches of the shop, those that the job used first."""
    acts = Counter(event.wrench for _, event in job.all(PositionWorked) if event.wrench)
    shop = sorted(job.route.shop.wrenches, key=lambda wrench: (-acts[wrench.name], wrench.name))
    day = job.entries[-1].at.date()
    return tuple(
        Wrench(
            name=wrench.name,
            spoken=wrench.spoken,
            least=wrench.least,
            most=wrench.most,
            resolution=wrench.resolution,
            deviation=wrench.deviation,
            calibrated=wrench.calibrated.isoformat() if wrench.calibrated else "",
            remark=wrench.calibration(day),
            acts=acts[wrench.name],
        )
        for wrench in shop
    )


def setting_of(route: Route, event: PositionWorked) -> Quantity | None:
    """Give what the wrench of an act was set to, with the step's adapter; None where that cannot be told."""
    value = event.act.until if isinstance(event.act.until, Quantity) else event.act.value
    if not event.wrench or value is None or value.dimension != "torque":
        return None
    adapter = _adapter(route, event)
    try:
        wrench = route.shop.wrench(event.wrench)
        if adapter is None:
            return for_wrench(value, wrench.resolution, USUAL_TOLERANCE)
        adapted = setting_for(value, wrench.length, adapter.length, adapter.angle)
        return rounded(adapted.setting, wrench.resolution)
    except TorqueError:
        return None


def _adapter(route: Route, event: PositionWorked) -> Adapter | None:
    """Find the adapter of the step that an act belongs to."""
    for step in route.steps:
        tighten = step.tighten
        if (
            tighten
            and tighten.group == event.group
            and event.act.stage in (tighten.stages or {event.act.stage})
        ):
            return tighten.adapter
    return None
