"""A position that was named before its turn: what was expected, what was said, and what either answer does."""

from collections.abc import Mapping

from assistant.dialogue.reply import Line
from assistant.dialogue.tightening import click, read_act, take
from assistant.dialogue.turn import Turn

About = Mapping[str, str]


def order_line(_turn: Turn, about: About) -> Line:
    """Say which position is expected, and ask whether the one that was named is done, or did click."""
    key = "ask.click-out-of-order" if about.get("said") == "click" else "ask.out-of-order"
    return Line(key, {"position": int(about["position"]), "expected": int(about["expected"])})


def work_out_of_order(turn: Turn, about: About) -> None:
    """Take an act that was said, and said again, to be done out of its turn as one that is done in it."""
    number = int(about["number"])
    wanted = number, turn.route.plans[turn.route.group(turn.step).name][number]
    if about.get("said") == "click":
        click(turn, wanted)
    else:
        take(turn, turn.step, wanted)


def leave_out_of_order(turn: Turn, _about: About) -> None:
    """Record nothing, and call the position that is expected."""
    turn.say("order.not")
    read_act(turn, turn.step)
