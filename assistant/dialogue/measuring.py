"""A measuring step: a value is read back, judged against its limits, and kept after a yes.

Several readings make one value, which is their mean; limits may be worked out from values before them.
The verdict allows for the gauge's uncertainty (`measures.conformity`).
"""

from decimal import Decimal
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.dialogue.numbers import unit_of, value_of
from assistant.dialogue.steps import DONE, READERS, complete, owns
from assistant.dialogue.turn import Turn
from assistant.dialogue.valued import limits_line, say_impossible, say_missing, say_series, value_slots
from assistant.errors import AssistantError, TorqueError
from assistant.job.events import Measured, ReadingsReopened, ReadingTaken, ValueDoubted
from assistant.job.values import inputs_of, is_outside, limits_of, missing, stale
from assistant.measures.conformity import GOOD, Limits, judge
from assistant.measures.readings import series_of
from assistant.procedure.model import Step
from assistant.procedure.values import Measure
from assistant.torque.units import Quantity

_DEGREES: Final = ("degC", "degF")
"""Units of which people say only the degrees."""


def limits_now(turn: Turn, step: Step) -> Limits | None:
    """Give the limits of a measuring step as they are now; say why where they cannot be worked out."""
    wanted = _wanted(step)
    if names := missing(turn.route, turn.state, wanted):
        say_missing(turn, names)
        return None
    try:
        return limits_of(wanted, inputs_of(turn.route, turn.state, wanted), wanted.gauge)
    except TorqueError:
        say_impossible(turn, wanted)
        return None


@owns(READERS, "measure")
def read_limits(turn: Turn, step: Step) -> None:
    """Say what is to be measured and within which limits, and which of several readings is next.

    At a step that is done with a value outside its limits it is asked about instead; at one that is not, its last value
    is told, since the question about it may have been dropped, or answered with no.
    """
    if ask_whether_it_stands(turn, step):
        return
    _say_wanted(turn, step)
    if is_outside(turn.state, step.step) and not _is_read_anew(turn, step):
        turn.say("measure.last", **value_slots(turn, step.step))


def _say_wanted(turn: Turn, step: Step) -> None:
    wanted = _wanted(step)
    limits = limits_now(turn, step)
    if limits is None:
        return
    if limits:
        turn.say("measure", what=wanted.what, limits=limits_line(limits))
    else:
        turn.say("measure.free", what=wanted.what)
    taken = turn.state.readings.get(step.step, ())
    if wanted.readings > 1 or taken:
        turn.say("reading.next", number=len(taken) + 1, count=max(wanted.readings, len(taken) + 1))


@owns(DONE, "measure")
def done_without_value(turn: Turn, step: Step) -> None:
    """Ask for the value; where there is one, judge it as the limits are now, or ask whether it shall stand."""
    measured = turn.state.measured.get(step.step)
    if measured is None or step.step in turn.state.readings:
        turn.say("measure.say-value")
    elif step.step in stale(turn.route, turn.state):
        _settle(turn, step, measured.readings or (measured.value,))
    elif is_outside(turn.state, step.step):
        turn.ask("out-of-limits", {"step": step.step})
    else:
        complete(turn, step)


def ask_whether_it_stands(turn: Turn, step: Step) -> bool:
    """Ask whether the value of a step that is done shall stand outside its limits; tells whether it is so."""
    name, state = step.step, turn.state
    if name not in state.done or not is_outside(state, name) or _is_read_anew(turn, step):
        return False
    if state.question is None:
        turn.ask("out-of-limits", {"step": name, "named": "yes"})
    return True


def _is_read_anew(turn: Turn, step: Step) -> bool:
    """Tell whether the value of a step no longer counts: it is being read anew, or what it came from has changed."""
    return step.step in turn.state.readings or step.step in stale(turn.route, turn.state)


def _wanted(step: Step) -> Measure:
    assert step.measure is not None, f"{step.step} does not measure"  # noqa: S101
    return step.measure


def on_measured(turn: Turn, intent: Intent) -> None:
    """Read a value back; it counts after a yes. Said to a value just read back, it takes its place."""
    if turn.step.measure is None:
        turn.say("measure.not-here")
        turn.must_ask = True
        return
    if turn.state.question is not None:
        turn.close_question("another value")
    if limits_now(turn, turn.step) is None:
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
    if unit == "deg" and wanted.unit in _DEGREES:
        unit = wanted.unit
    value = Quantity(value=Decimal(value_of(intent.slots["value"])), unit=unit)
    value.exact(wanted.unit)  # raises where it is a quantity of another kind
    return value


def keep(turn: Turn, value: Quantity) -> None:
    """Record a value that was confirmed: a reading of several, or the measurement."""
    step = turn.step
    taken = turn.state.readings.get(step.step, ())
    wanted = _wanted(step).readings
    if wanted == 1 and not taken:
        _settle(turn, step, (value,))
        return
    turn.record(ReadingTaken(step=step.step, value=value))
    turn.tone("recorded")
    if len(taken) + 1 < wanted:
        turn.say("reading.next", number=len(taken) + 2, count=wanted)
    else:
        _settle(turn, step, (*taken, value))


def _settle(turn: Turn, step: Step, readings: tuple[Quantity, ...]) -> None:
    """Record the mean of the readings and say how it stands; outside its limits it asks once more."""
    limits = limits_now(turn, step)
    if limits is None:
        return
    value = series_of(readings).mean if len(readings) > 1 else readings[0]
    judged = judge(value, limits)
    event = _measured(turn, step, readings, Measured(step=step.step, value=value, verdict=judged), limits)
    turn.record(event)
    turn.tone("recorded")
    if len(readings) > 1:
        say_series(turn, series_of(readings), event)
    elif judged == "in":
        turn.say("measure.in")
    doubt_what_rests(turn)
    if judged in GOOD:
        finish(turn, step)
    else:
        turn.ask("out-of-limits", {"step": step.step})


def _measured(
    turn: Turn, step: Step, readings: tuple[Quantity, ...], event: Measured, limits: Limits
) -> Measured:
    inputs = inputs_of(turn.route, turn.state, _wanted(step)).values
    more = {"least": limits.least, "most": limits.most, "doubt": limits.doubt, "inputs": dict(inputs)}
    return event.model_copy(update={**more, "readings": readings if len(readings) > 1 else ()})


def finish(turn: Turn, step: Step) -> None:
    """Complete a step, unless it was done before and only its value is new."""
    if step.step not in turn.state.done:
        complete(turn, step)


def on_reading(turn: Turn, intent: Intent) -> None:
    """Take another reading into the value of this step, or the next one of a series; or measure anew."""
    step = turn.step
    if step.measure is None:
        turn.say("measure.not-here")
        turn.must_ask = True
        return
    if turn.state.question is not None:
        turn.close_question("another reading")
    if "anew" in intent.slots:
        _begin_anew(turn, step)
        return
    measured = turn.state.measured.get(step.step)
    if measured is not None and step.step not in turn.state.readings:
        readings = measured.readings or (measured.value,)
        turn.record(ReadingsReopened(step=step.step, readings=readings))
        turn.tone("recorded")
    taken = turn.state.readings.get(step.step, ())
    turn.say("reading.next", number=len(taken) + 1, count=max(step.measure.readings, len(taken) + 1))


def _begin_anew(turn: Turn, step: Step) -> None:
    """Drop the readings under way, if any, and say what is to be measured; a value that there is holds until then."""
    if turn.state.readings.get(step.step):
        turn.record(ReadingsReopened(step=step.step, readings=()))
        turn.tone("recorded")
    _say_wanted(turn, step)


def doubt_what_rests(turn: Turn) -> None:
    """Put in doubt the done steps whose values came from one that has just changed, and name them."""
    gone = [step for step in stale(turn.route, turn.state) if step in turn.state.done]
    turn.record(*(ValueDoubted(step=step, because=turn.step.step) for step in gone))
    if gone:
        numbers = tuple(turn.step_number(step) for step in gone)
        turn.say("value.doubted", numbers=numbers, count=len(numbers))


HANDLERS = {"measured": on_measured, "reading": on_reading}
