"""Where the job stands: what was done last, what is left, how much longer it takes at its own pace."""

from decimal import Decimal

from assistant.dialogue import waiting
from assistant.dialogue.intents import Intent
from assistant.dialogue.recorded import event_line
from assistant.dialogue.turn import Turn
from assistant.job.way import open_steps
from assistant.torque.units import Quantity

_HOUR_S = 3600
_SHORT_S = 90 * 60
_QUARTER_S = 15 * 60


def on_last(turn: Turn, _intent: Intent) -> None:
    """Say what was recorded last."""
    if turn.state.pasts:
        turn.say("last", what=event_line(turn, turn.state.pasts[-1].events))
    else:
        turn.say("last.nothing")


def on_time_left(turn: Turn, _intent: Intent) -> None:
    """Say how long each wait that runs still has; then estimate what the job takes.

    That goes by its own pace so far, and by the waits still to come.
    """
    waits = waiting.running(turn)
    for step, timer in waits:
        turn.say("time.wait", number=turn.step_number(step), left=waiting.left(turn, timer))
    pace_s = turn.state.progress.a_step_s
    if pace_s and waits:
        turn.say("time.whole", time=_rounded(_left_s(turn, pace_s)))
    elif pace_s:
        turn.say("time.left", time=_rounded(_left_s(turn, pace_s)))
    elif not waits:
        turn.say("time.unknown")


def _left_s(turn: Turn, pace_s: float) -> float:
    left = open_steps(turn.route, turn.state)
    waits_s = 0.0
    for step in left:
        if step.wait:
            timer = turn.state.timers.get(step.step)
            waits_s += timer.left_s(turn.now) if timer else float(step.wait.least.exact("s"))
    return waits_s + pace_s * sum(1 for step in left if not step.wait)


def _rounded(seconds: float) -> Quantity:
    """Give a time as one estimates it: in minutes, or in quarters of an hour above an hour and a half."""
    if seconds < _SHORT_S:
        return Quantity(value=Decimal(max(1, round(seconds / 60))), unit="min")
    quarters = round(seconds / _QUARTER_S)
    return Quantity(value=Decimal(quarters) / 4, unit="h")


HANDLERS = {"last": on_last, "time-left": on_time_left}
