"""A decision: asked once, and told how many steps come up or are left out by it."""

from collections.abc import Mapping

from assistant.dialogue.reply import Line
from assistant.dialogue.steps import DONE, READERS, complete, owns
from assistant.dialogue.turn import Turn
from assistant.job.events import DecisionTaken
from assistant.procedure.conditions import applies, depends_on
from assistant.procedure.model import Decide, Step


def _decide(step: Step) -> Decide:
    assert step.decide is not None, f"{step.step} decides nothing"  # noqa: S101
    return step.decide


@owns(READERS, "decide")
@owns(DONE, "decide")
def ask_decision(turn: Turn, step: Step) -> None:
    """Ask the question; saying that it is done is not an answer."""
    turn.ask("decide", {"step": step.step})


def decide_line(turn: Turn, about: Mapping[str, str]) -> Line:
    """Give the question of the decision."""
    return Line("ask.check", {"text": _decide(turn.route.step(about["step"])).ask})


def decide(turn: Turn, about: Mapping[str, str], *, yes: bool) -> None:
    """Record the answer, and say how many steps come up and how many are left out by it."""
    step = turn.route.step(about["step"])
    name = _decide(step).name
    turn.record(DecisionTaken(step=step.step, decision=name, yes=yes))
    about_it = [each for each in turn.route.steps if depends_on(each, name)]
    here = [each for each in about_it if applies(each, turn.state.decisions)]
    out = len(about_it) - len(here)
    if here and out:
        turn.say("decided.both", count=len(here), out=out)
    elif here:
        turn.say("decided.in", count=len(here))
    elif out:
        turn.say("decided.out", count=out)
    complete(turn, step)
