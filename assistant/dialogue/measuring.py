"""A measuring step: a value is read back, judged against its limits, and kept after a yes.

The verdict allows for the gauge's uncertainty: within the limits by more than it, in; outside by
more than it, below or above; between, in doubt (the decision rule of ISO 14253-1, from memory).
"""

from decimal import Decimal
from fractions import Fraction

from assistant.dialogue.intents import Intent
from assistant.dialogue.numbers import unit_of, value_of
from assistant.dialogue.reply import Line
from assistant.dialogue.steps import DONE, READERS, complete, owns
from assistant.dialogue.turn import Turn
from assistant.errors import AssistantError
from assistant.job.events import Measured, Verdict
from assistant.procedure.model import Measure, Step
from assistant.torque.units import Quantity


def verdict(wanted: Measure, value: Quantity) -> Verdict:
    """Judge a value against the limits of a measurement, with the gauge's uncertainty."""
    doubt = wanted.gauge.exact(value.unit) if wanted.gauge else Fraction()
    low = wanted.least.exact(value.unit) if wanted.least else None
    high = wanted.most.exact(value.unit) if wanted.most else None
    if low is not None and value.exact(value.unit) < low - doubt:
        return "below"
    if high is not None and value.exact(value.unit) > high + doubt:
        return "above"
    sure_low = low is None or value.exact(value.unit) >= low + doubt
    sure_high = high is None or value.exact(value.unit) <= high - doubt
    return "in" if sure_low and sure_high else "in doubt"


def limits_line(wanted: Measure) -> Line:
    """Say the limits of a measurement."""
    if wanted.least is not None and wanted.most is not None:
        same = wanted.least.unit == wanted.most.unit
        key = "limits.one-unit" if same else "limits.both"
        return Line(key, {"least": wanted.least, "most": wanted.most})
    if wanted.most is not None:
        return Line("limits.most", {"most": wanted.most})
    assert wanted.least is not None  # noqa: S101  (a measurement has a limit)
    return Line("limits.least", {"least": wanted.least})


@owns(READERS, "measure")
def read_limits(turn: Turn, step: Step) -> None:
    """Say what is to be measured and within which limits."""
    wanted = _wanted(step)
    turn.say("measure", what=wanted.what, limits=limits_line(wanted))


@owns(DONE, "measure")
def done_without_value(turn: Turn, step: Step) -> None:
    """Ask for the value, or, where one outside its limits was taken, whether it shall stand."""
    if step.step in turn.state.measured:
        turn.ask("out-of-limits", {"step": step.step})
    else:
        turn.say("measure.say-value")


def _wanted(step: Step) -> Measure:
    assert step.measure is not None, f"{step.step} does not measure"  # noqa: S101
    return step.measure


def on_measured(turn: Turn, intent: Intent) -> None:
    """Read a value back; it counts after a yes."""
    if turn.step.measure is None:
        turn.say("measure.not-here")
        return
    try:
        value = _value(turn.step.measure, intent)
    except AssistantError:
        turn.say("measure.not-a-value")
        return
    turn.ask("value", {"step": turn.step.step, "value": str(value)})


def _value(wanted: Measure, intent: Intent) -> Quantity:
    """Give the spoken value in the author's unit of measure; one said without a unit is taken to have it."""
    unit = unit_of(intent.slots["unit"]) if "unit" in intent.slots else wanted.unit
    value = Quantity(value=Decimal(value_of(intent.slots["value"])), unit=unit)
    value.exact(wanted.unit)  # raises where it is a quantity of another kind
    return value


def keep(turn: Turn, value: Quantity) -> None:
    """Record a value that was confirmed, and say how it stands; outside its limits it asks once more."""
    step = turn.step
    judged = verdict(_wanted(step), value)
    turn.record(Measured(step=step.step, value=value, verdict=judged))
    turn.tone("recorded")
    if judged == "in":
        turn.say("measure.in")
        complete(turn, step)
    else:
        turn.ask("out-of-limits", {"step": step.step})


def out_of_limits_line(turn: Turn, name: str) -> Line:
    """Say how the value stands outside its limits, and ask whether to let it stand."""
    step = turn.route.step(name)
    judged = turn.state.measured[name].verdict
    return Line("ask.out-of-limits", {"how": Line(f"verdict.{judged}"), "limits": limits_line(_wanted(step))})


HANDLERS = {"measured": on_measured}
