"""What was measured: a value asked for by its name, the last one, and the numbers that one came from."""

from assistant.dialogue.intents import Intent
from assistant.dialogue.reply import Line, Slot
from assistant.dialogue.turn import Turn
from assistant.dialogue.valued import value_line
from assistant.dialogue.working_out import worked_now
from assistant.job.events import Measured, WorkedOut
from assistant.job.values import kept, stale
from assistant.measures.readings import readable, series_of


def on_value_of(turn: Turn, intent: Intent) -> None:
    """Say a value by its name, or that of this step, or the last one; and whether it still holds."""
    if "name" in intent.slots:
        step = turn.route.givers.get(intent.slots["name"], "")
        if not step or kept(turn.state, step) is None:
            turn.say("value.not-yet", name=intent.slots["name"])
            return
    elif not (step := _last(turn)):
        turn.say("value.none")
        return
    turn.add(value_line(turn, step))
    if step in stale(turn.route, turn.state):
        turn.say("value.stale")


def _last(turn: Turn) -> str:
    """Name the step whose value is meant by "what did I measure": this one's, else the last."""
    here = turn.step.step
    return here if kept(turn.state, here) is not None else turn.state.last_value


def on_how_so(turn: Turn, _intent: Intent) -> None:
    """Say the numbers that a value came from: its readings, or the values it was worked out from."""
    here = turn.step
    if taken := turn.state.readings.get(here.step):
        turn.say("from.readings", readings=taken, count=len(taken))
        return
    found: Measured | WorkedOut | None
    if here.work_out is not None:
        found = worked_now(turn, here)
        if found is None:  # it was said why
            return
    else:
        found = kept(turn.state, _last(turn))
    if found is None:
        turn.say("value.none")
    elif isinstance(found, Measured):
        _from_readings(turn, found)
    else:
        _from_values(turn, found)


def _from_readings(turn: Turn, found: Measured) -> None:
    readings = found.readings or (found.value,)
    turn.say("from.readings", readings=readings, count=len(readings))
    if (deviation := series_of(readings).deviation) is not None:
        turn.say("from.deviation", deviation=readable(deviation, readings))
    if found.inputs:
        turn.say("from.limits", inputs=_inputs(found))


def _from_values(turn: Turn, found: WorkedOut) -> None:
    if found.inputs:
        turn.say("from.values", inputs=_inputs(found))
    if found.doubt is not None:
        turn.say("from.doubt", doubt=readable(found.doubt))


def _inputs(found: Measured | WorkedOut) -> tuple[Slot, ...]:
    return tuple(
        Line("from.value", {"name": name, "value": readable(value)}) for name, value in found.inputs.items()
    )


HANDLERS = {"value-of": on_value_of, "how-so": on_how_so}
