"""Leaving a step out: why, where somebody else stands for it who asked for it, and a yes."""

from collections.abc import Mapping
from typing import Final

from assistant.dialogue import counting
from assistant.dialogue.intents import Intent
from assistant.dialogue.reply import Line
from assistant.dialogue.steps import READERS, release_helper, say_if_none_is_left
from assistant.dialogue.turn import Turn
from assistant.job.events import StepSkipped

ON_INSTRUCTION: Final = "on instruction"
"""The reason that somebody else stands for, in the words of the grammar."""

About = Mapping[str, str]


def on_skip(turn: Turn, _intent: Intent) -> None:
    """Ask why a step is to be left out; a gate cannot be."""
    step = turn.step
    if step.step in turn.state.done:
        turn.say("step.already", number=turn.step_number(step.step))
    elif step.check is not None:
        turn.say("skip.gate")
        READERS["check"](turn, step)
    else:
        turn.ask("skip-reason", {"step": step.step})


def is_anothers(turn: Turn, reason: str) -> bool:
    """Tell whether somebody else of the job's people stands for a reason."""
    return reason == ON_INSTRUCTION and bool(turn.route.procedure.people)


def skip_line(turn: Turn, about: About) -> Line:
    """Read back which step is left out and why."""
    return Line("ask.skip", {"number": turn.step_number(about["step"]), "reason": about["reason"]})


def leave_out(turn: Turn, about: About) -> None:
    """Record that a step is left out; a pass that is broken off by it is in doubt."""
    if turn.state.helping == about["step"]:
        release_helper(turn)
    turn.record(StepSkipped(step=about["step"], reason=about["reason"]))
    turn.tone("recorded")
    counting.leave_pass(turn, turn.route.step(about["step"]))
    broken_off = turn.has_spoken
    turn.say("step.skipped", number=turn.step_number(about["step"]))
    if not broken_off:
        say_if_none_is_left(turn)


HANDLERS = {"skip": on_skip}
