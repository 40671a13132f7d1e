"""A gate: a question that must be answered with yes before anything after it; at a hold point, by a second person."""

from collections.abc import Mapping

from assistant.dialogue.reply import Line
from assistant.dialogue.steps import DONE, READERS, complete, owns
from assistant.dialogue.turn import Turn
from assistant.job.events import CheckAnswered
from assistant.procedure.model import Step

About = Mapping[str, str]


def check_line(turn: Turn, about: About) -> Line:
    """Give the question of the gate."""
    check = turn.route.step(about["step"]).check
    return Line("ask.check", {"text": check.ask if check else ""})


def passed(turn: Turn, about: About) -> None:
    """Take a yes; at a hold point, ask who else has seen it."""
    check = turn.route.step(about["step"]).check
    if check and check.hold:
        turn.ask("seen-by", about)
    else:
        seen(turn, about, "")


def seen(turn: Turn, about: About, by: str) -> None:
    """Record that the gate is passed, and by whom it was seen; a name is told back, for it may be misheard."""
    turn.record(CheckAnswered(step=about["step"], passed=True, by=by))
    if by:
        turn.say("check.seen", who=by)
    complete(turn, turn.route.step(about["step"]))


def failed(turn: Turn, about: About) -> None:
    """Take a no: the job stays there, and what is to be done is said."""
    check = turn.route.step(about["step"]).check
    turn.record(CheckAnswered(step=about["step"], passed=False))
    turn.say("check.failed", text=check.if_not if check else "")


@owns(READERS, "check")
def _read_check(turn: Turn, step: Step) -> None:
    turn.ask("check", {"step": step.step})


@owns(DONE, "check")
def _done_check(turn: Turn, step: Step) -> None:
    turn.ask("check", {"step": step.step})
