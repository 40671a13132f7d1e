"""Being counted through a group: calling, holding, calling again, beginning a pass again, changing the wrench."""

from typing import Final

from assistant.dialogue.acts import (
    Numbered,
    acts_left,
    next_act,
    pass_done,
    say_act,
    short_line,
    what_line,
)
from assistant.dialogue.intents import Intent
from assistant.dialogue.tightening import here, read_act
from assistant.dialogue.tooling import has_other_wrench, wrench_for
from assistant.dialogue.turn import Turn
from assistant.job.events import PassReopened
from assistant.procedure.model import Step
from assistant.torque.ledger import Again
from assistant.torque.plan import redone_with, torque_of


def on_count(turn: Turn, _intent: Intent) -> None:
    """Say which pass this is and of how many, and call the first position that is left."""
    if here(turn):
        _, act = next_act(turn, turn.step)
        positions = {each.position for _, each in turn.route.acts(turn.step) if each.stage == act.stage}
        turn.say("count", stage=act.stage, stages=act.stages, count=len(positions), what=what_line(act))
        say_act(turn, act, short_line(act))


def on_hold(turn: Turn, _intent: Intent) -> None:
    """Wait for as long as it takes."""
    turn.say("hold")
    turn.passing = True


def on_call_again(turn: Turn, _intent: Intent) -> None:
    """Call the same position again."""
    if here(turn):
        read_act(turn, turn.step)


def on_pass_again(turn: Turn, _intent: Intent) -> None:
    """Have what was done of this pass done again, from its first position: the count was lost."""
    if here(turn):
        if done := pass_done(turn, turn.step):
            _reopen(turn, turn.step, done, "again")
        else:
            turn.say("pass.none")
        read_act(turn, turn.step)


def on_other_wrench(turn: Turn, _intent: Intent) -> None:
    """Lay the wrench aside for this job; what it did of this pass is to be done again with the next one."""
    if not here(turn):
        return
    act = next_act(turn, turn.step)[1]
    if torque_of(act) is None:
        turn.say("wrench.not-needed")
        return
    wrench = wrench_for(turn, act)
    if not has_other_wrench(turn, act, wrench):
        turn.say("wrench.no-other")
        return
    _reopen(turn, turn.step, pass_done(turn, turn.step), "tool", wrench=wrench)
    read_act(turn, turn.step)


_SPARED: Final = ("hand", "snug", "back-off")
"""Kinds of act that lose nothing when a pass is left in the middle."""


def leave_pass(turn: Turn, step: Step) -> None:
    """Put in doubt what was done of a pass that is left in the middle, unless it is at its final value."""
    done = pass_done(turn, step) if step.tighten and acts_left(turn, step) else ()
    lost = tuple(pair for pair in done if not pair[1].final and pair[1].kind not in _SPARED)
    if lost:
        _reopen(turn, step, lost, "interrupted")


def _reopen(turn: Turn, step: Step, done: tuple[Numbered, ...], because: Again, *, wrench: str = "") -> None:
    group = turn.route.group(step).name
    plan = turn.route.plans[group]
    numbers = sorted({each for number, _ in done for each in redone_with(plan, number)})
    positions = tuple(dict.fromkeys(act.position for _, act in done))
    turn.record(
        PassReopened(group=group, numbers=tuple(numbers), positions=positions, because=because, wrench=wrench)
    )
    turn.tone("recorded")
    if positions:
        key = "pass.left" if because == "interrupted" else "pass.again"
        turn.say(key, positions=positions, count=len(positions))


HANDLERS = {
    "count": on_count,
    "hold": on_hold,
    "call-again": on_call_again,
    "pass-again": on_pass_again,
    "other-wrench": on_other_wrench,
}
