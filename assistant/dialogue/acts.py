"""The acts of a tightening step: which are left, which comes next, and how one is said.

A rise goes round and round: an act that was turned but is not seated stays left, and the one after
it comes next.
"""

from typing import Final

from assistant.dialogue.reply import Line
from assistant.dialogue.turn import Turn
from assistant.procedure.model import Step
from assistant.torque.plan import Act, in_order

_GOES_IN: Final = ("hand", "snug", "replace")
"""Kinds of act with which a fastener goes into its position."""

Numbered = tuple[int, Act]
"""An act with its number in the group's plan."""


def acts_left(turn: Turn, step: Step) -> tuple[Numbered, ...]:
    """Give the acts of a tightening step that are not done yet, in order."""
    done = turn.state.acts.get(turn.route.group(step).name, frozenset())
    return tuple((number, act) for number, act in turn.route.acts(step) if number not in done)


def stage_left(turn: Turn, step: Step) -> tuple[Numbered, ...]:
    """Give those that are left of the stage under way, the next one first."""
    left = acts_left(turn, step)
    here = tuple(pair for pair in left if pair[1].stage == left[0][1].stage)
    turned = turn.state.turned.get(turn.route.group(step).name, -1)
    return (*(pair for pair in here if pair[0] > turned), *(pair for pair in here if pair[0] <= turned))


def next_act(turn: Turn, step: Step) -> Numbered:
    """Give the act that comes next; there must be one left."""
    return stage_left(turn, step)[0]


def pass_done(turn: Turn, step: Step) -> tuple[Numbered, ...]:
    """Give what is done already of the pass under way; there must be an act left."""
    left = next_act(turn, step)[1]
    done = turn.state.acts.get(turn.route.group(step).name, frozenset())
    return tuple(
        (number, act)
        for number, act in turn.route.acts(step)
        if number in done and act.stage == left.stage and act.round == left.round
    )


def is_due(turn: Turn, step: Step, number: int) -> bool:
    """Tell whether an act is due: nothing before it whose order matters is left."""
    group = turn.route.group(step).name
    return in_order(turn.route.plans[group], turn.state.acts.get(group, frozenset()), number)


def what_line(act: Act) -> Line:
    """Say what an act brings a position to: "snug", or a value in full, with digits where it needs them."""
    return Line(f"act.{act.kind}", {"value": act.value} if act.value is not None else {})


def short_line(act: Act) -> Line:
    """Say the same without the digits, where they were given when the stage began."""
    return Line("act.value", {"value": act.value}) if act.kind == "torque" and act.value else what_line(act)


def say_act(turn: Turn, act: Act, *, short: bool = False) -> None:
    """Call a position, and what it is brought to; which fastener goes in, where they differ in length."""
    what = short_line(act) if short else what_line(act)
    length = turn.route.group(turn.step).lengths.get(act.position) if act.kind in _GOES_IN else None
    if length is None:
        turn.say("act", position=act.position, what=what)
    else:
        turn.say("act.length", position=act.position, what=what, length=length)
