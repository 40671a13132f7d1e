"""How values are said: how one stands, within which limits, of how many readings, and why one cannot be had."""

from collections.abc import Mapping

from assistant.dialogue.reply import Line, Slot
from assistant.dialogue.turn import Turn
from assistant.job.events import Measured, WorkedOut
from assistant.job.values import inputs_of, kept, limits_of, measured_under
from assistant.measures.conformity import GOOD, Limits
from assistant.measures.readings import Series, readable
from assistant.procedure.values import Measure, WorkOut
from assistant.torque.units import Quantity

About = Mapping[str, str]


def limits_line(limits: Limits) -> Line:
    """Say limits; there must be one."""
    least, most = (limit and readable(limit) for limit in (limits.least, limits.most))
    if least is not None and most is not None:
        key = "limits.one-unit" if least.unit == most.unit else "limits.both"
        return Line(key, {"least": least, "most": most})
    if most is not None:
        return Line("limits.most", {"most": most})
    assert least is not None  # noqa: S101  (asked for only where there is one)
    return Line("limits.least", {"least": least})


def say_missing(turn: Turn, names: tuple[str, ...]) -> None:
    """Say which value is wanted first, and where it comes from."""
    step = turn.route.givers.get(names[0])
    if step is None:
        turn.say("value.missing-here", name=names[0])
    else:
        turn.say("value.missing", name=names[0], number=turn.step_number(step))


def say_series(turn: Turn, series: Series, event: Measured) -> None:
    """Say mean and spread of several readings, and so where they spread more than the gauge explains.

    A verdict that brings a question is left to that, and only a wide spread is told before it.
    """
    wide = event.doubt is not None and event.doubt < series.spread
    asked = event.verdict not in GOOD
    slots: dict[str, Slot] = {
        "mean": readable(series.mean, event.readings),
        "spread": readable(series.spread),
        "count": len(event.readings),
        "how": Line("reading.in" if event.verdict == "in" else "nothing"),
        "wide": Line("reading.wide" if wide else "nothing"),
    }
    if series.deviation is not None:
        slots["deviation"] = readable(series.deviation, event.readings)
    turn.say(_series_key(series, asked=asked, wide=wide), **slots)


def _series_key(series: Series, *, asked: bool, wide: bool) -> str:
    if not series.spread.value:
        return "reading.same"
    if asked:
        return "reading.asked-wide" if wide else "reading.asked"
    return "reading.all" if series.deviation is None else "reading.all-deviation"


def out_of_limits_line(turn: Turn, about: About) -> Line:
    """Say how a value stands outside its limits, and ask whether to let it stand; which value, if it is not new."""
    name = about["step"]
    found = kept(turn.state, name)
    assert found is not None, f"{name} has no value"  # noqa: S101
    limits = Limits(least=found.least, most=found.most)
    if not limits and (measure := turn.route.step(name).measure):  # of a journal that did not keep them
        limits = limits_of(measure, inputs_of(turn.route, turn.state, measure), None)
    slots: dict[str, Slot] = {"how": Line(f"verdict.{found.verdict}"), "limits": limits_line(limits)}
    if "named" in about:
        return Line("ask.out-of-limits-named", {**slots, "value": _said(found)})
    return Line("ask.out-of-limits", slots)


def _said(found: Measured | WorkedOut) -> Quantity:
    """Give a kept value as it is said: that which its verdict is of."""
    return readable(found.judged, found.readings if isinstance(found, Measured) else ())


def read_back_line(turn: Turn, about: About) -> Line:
    """Read a value back; at a step that is done, say that it replaces the one that there is, or begins anew."""
    step = turn.route.step(about["step"])
    value = Quantity.model_validate(about["value"])
    old = turn.state.measured.get(step.step)
    if old is None or step.step not in turn.state.done or turn.state.readings.get(step.step):
        return Line("ask.value", {"value": value})
    if step.measure and step.measure.readings > 1:
        return Line("ask.value-anew", {"value": value})
    return Line("ask.value-instead", {"value": value, "old": _said(old)})


def say_impossible(turn: Turn, value: Measure | WorkOut) -> None:
    """Say that nothing can be worked out from what was measured, and at which steps that was."""
    numbers = tuple(sorted(map(turn.step_number, measured_under(turn.route, value))))
    turn.say("value.impossible", numbers=numbers, count=len(numbers))


def value_slots(turn: Turn, step: str) -> dict[str, Slot]:
    """Give what is kept at a step: the thing, its value, and how it stands."""
    found, wanted = kept(turn.state, step), turn.route.step(step).value
    assert found is not None, f"{step} has no value"  # noqa: S101
    value = readable(found.stands_for, found.readings if isinstance(found, Measured) else ())
    return {"what": wanted.what if wanted else step, "value": value, "how": _how_it_stands(turn, step, found)}


def value_line(turn: Turn, step: str) -> Line:
    """Say what is kept at a step: the thing, its value, how it stands, and of how many readings."""
    slots, found, wanted = value_slots(turn, step), kept(turn.state, step), turn.route.step(step).value
    assert found is not None, f"{step} has no value"  # noqa: S101
    if isinstance(found, Measured) and found.readings:
        return Line("value.mean", {**slots, "count": len(found.readings)})
    if isinstance(found, WorkedOut) and found.leaves and isinstance(wanted, WorkOut) and wanted.leaves:
        return Line("value.size", {**slots, "left": wanted.leaves.what, "leaves": readable(found.leaves)})
    return Line("value.free" if found.verdict == "no limits" else "value", slots)


def _how_it_stands(turn: Turn, step: str, found: Measured | WorkedOut) -> Line:
    how = Line(f"verdict.{found.verdict}")
    return Line("value.let-stand", {"how": how}) if step in turn.state.accepted else how
