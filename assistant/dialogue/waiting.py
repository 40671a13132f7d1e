"""Waiting times: started by voice, run on the wall clock, ended by an end test that must pass."""

from collections.abc import Mapping
from decimal import Decimal

from assistant.dialogue.intents import Intent
from assistant.dialogue.reply import Line, Slot
from assistant.dialogue.steps import DONE, READERS, is_settled, owns, say_meanwhile
from assistant.dialogue.turn import Turn
from assistant.job.events import TimerEnded, TimerStarted, TimerStopped
from assistant.job.state import Timer
from assistant.job.way import next_step
from assistant.procedure.model import Step, Wait
from assistant.torque.units import Quantity


def _wait(step: Step) -> Wait:
    assert step.wait is not None, f"{step.step} does not wait"  # noqa: S101
    return step.wait


def running(turn: Turn) -> tuple[tuple[str, Timer], ...]:
    """Give the timers that run, each with the step it belongs to."""
    return tuple((step, timer) for step, timer in turn.state.timers.items() if timer.running)


def left(turn: Turn, timer: Timer) -> Quantity:
    """Give the time that is left, rounded up: to seconds, from two minutes to minutes, from two hours to quarters."""
    seconds = timer.left_s(turn.now)
    if seconds <= 120:  # noqa: PLR2004  (two minutes)
        return Quantity(value=round(seconds), unit="s")
    if seconds >= 7200:  # noqa: PLR2004  (two hours)
        return Quantity(value=Decimal(-int(-seconds // 900)) / 4, unit="h")
    return Quantity(value=-int(-seconds // 60), unit="min")


@owns(READERS, "wait")
def read_wait(turn: Turn, step: Step) -> None:
    """Say how long to wait, or how long is left, or ask the end test."""
    timer = turn.state.timers.get(step.step)
    if timer is None:
        turn.say("wait", least=_wait(step).least)
    elif timer.running:
        turn.say("timer.left", left=left(turn, timer))
        say_meanwhile(turn)
    else:
        turn.ask("wait-test", {"step": step.step})


@owns(DONE, "wait")
def done_wait(turn: Turn, step: Step) -> None:
    """Go by the timer and the end test; saying so is not enough."""
    read_wait(turn, step)


def on_timer_start(turn: Turn, _intent: Intent) -> None:
    """Start the waiting time of this step."""
    step = turn.step
    if step.wait is None:
        turn.say("timer.not-here")
    elif (timer := turn.state.timers.get(step.step)) and timer.running:
        turn.say("timer.left", left=left(turn, timer))
    else:
        least = step.wait.least
        turn.record(TimerStarted(step=step.step, seconds=float(least.exact("s"))))
        turn.tone("recorded")
        turn.say("timer.started", least=least)
        say_meanwhile(turn)


def on_timer_stop(turn: Turn, _intent: Intent) -> None:
    """Ask whether the waiting time is really to be cut short: this step's, else the one that was started last."""
    timers = [step for step, _timer in running(turn)]
    if timers:
        turn.ask("cut-short", {"step": turn.step.step if turn.step.step in timers else timers[-1]})
    else:
        turn.say("timer.none")


def cut_short_line(turn: Turn, about: Mapping[str, str]) -> Line:
    """Ask whether to cut a waiting time short; of several that run, it is named."""
    step = about["step"]
    slots: dict[str, Slot] = {"left": left(turn, turn.state.timers[step]), "number": turn.step_number(step)}
    return Line("ask.cut-short-of" if len(running(turn)) > 1 else "ask.cut-short", slots)


def cut_short(turn: Turn, step: str, reason: str) -> None:
    """Stop a waiting time before it is over, with the reason; close-out will tell of it."""
    timer = turn.state.timers[step]
    turn.record(TimerStopped(step=step, left_s=max(timer.left_s(turn.now), 0.001), reason=reason))
    turn.tone("recorded")
    turn.say("timer.stopped")


def on_timer_left(turn: Turn, _intent: Intent) -> None:
    """Say how long each running timer still has."""
    if not running(turn):
        turn.say("timer.none")
    _say_left(turn, running(turn))


def _say_left(turn: Turn, timers: tuple[tuple[str, Timer], ...]) -> None:
    """Say how long timers still have; where several run, whose each is."""
    key = "timer.left-of" if len(running(turn)) > 1 else "timer.left"
    for step, timer in timers:
        turn.say(key, left=left(turn, timer), number=turn.step_number(step))


def say_soonest(turn: Turn) -> None:
    """Say of the timer that ends first how long it still has."""
    _say_left(turn, tuple(sorted(running(turn), key=lambda pair: pair[1].ends)[:1]))


def on_tick(turn: Turn, _intent: Intent) -> None:
    """Tell of each waiting time that is over, and ask its end test where nothing else is asked."""
    for name, timer in running(turn):
        if timer.ends > turn.now:
            continue
        turn.record(TimerEnded(step=name))
        turn.tone("time is up")
        if _next_leads_to(turn, name):
            turn.say("timer.over-next", number=turn.step_number(name))
        else:
            turn.say("timer.over", number=turn.step_number(name))
        if turn.state.question is None and turn.step.step == name:
            turn.ask("wait-test", {"step": name})


def _next_leads_to(turn: Turn, name: str) -> bool:
    """Tell whether nothing is left to do or to answer here, and "next" goes to a step whose waiting time is over."""
    is_free = turn.state.question is None and not turn.state.paused and is_settled(turn, turn.step)
    step = next_step(turn.route, turn.state, turn.step.step) if is_free else None
    return step is not None and step.step == name


HANDLERS = {
    "timer-start": on_timer_start,
    "timer-stop": on_timer_stop,
    "timer-left": on_timer_left,
    "tick": on_tick,
}
