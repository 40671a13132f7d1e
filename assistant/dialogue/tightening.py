"""A tightening step: which position comes next and to what value, what was done, what is left.

The plan of a group (`torque.plan`) is a list of acts in order; a step works through those of its
stages. An act that is done out of its turn is asked about first where the order matters.
"""

from assistant.dialogue.intents import Intent
from assistant.dialogue.numbers import value_of
from assistant.dialogue.reply import Line
from assistant.dialogue.steps import DONE, READERS, complete, owns
from assistant.dialogue.turn import Turn
from assistant.job.events import PositionWorked
from assistant.procedure.model import Step
from assistant.torque.group import FastenerGroup
from assistant.torque.plan import Act, in_order

Numbered = tuple[int, Act]


def acts_left(turn: Turn, step: Step) -> tuple[Numbered, ...]:
    """Give the acts of a tightening step that are not done yet, in order."""
    done = turn.state.acts.get(turn.route.group(step).name, frozenset())
    return tuple((number, act) for number, act in turn.route.acts(step) if number not in done)


def stage_left(turn: Turn, step: Step) -> tuple[Numbered, ...]:
    """Give those that are left of the stage that is under way."""
    left = acts_left(turn, step)
    return tuple(pair for pair in left if pair[1].stage == left[0][1].stage)


def what_line(act: Act) -> Line:
    """Say what an act brings a position to: "snug", or a value in full."""
    return Line(f"act.{act.kind}", {"value": act.value} if act.value is not None else {})


def _say_act(turn: Turn, act: Act) -> None:
    turn.say("act", position=act.position, what=what_line(act))


def _say_same_again(turn: Turn, act: Act) -> None:
    """Say the next position of a stage: its value was given digit by digit when the stage began."""
    turn.say("act", position=act.position, what=_short_line(act))


def _short_line(act: Act) -> Line:
    return Line("act.value", {"value": act.value}) if act.kind == "torque" and act.value else what_line(act)


@owns(READERS, "tighten")
def read_act(turn: Turn, step: Step) -> None:
    """Say the position that comes next, and its value."""
    left = acts_left(turn, step)
    if left:
        _say_act(turn, left[0][1])
    else:
        turn.say("group.nothing-left", group=_spoken(turn, step))


@owns(DONE, "tighten")
def done_act(turn: Turn, step: Step) -> None:
    """Take the position that came next as done."""
    if left := acts_left(turn, step):
        _work(turn, step, (left[0],))
    else:
        complete(turn, step)


def _spoken(turn: Turn, step: Step) -> str:
    return turn.route.group(step).spoken


def _due(turn: Turn, step: Step, number: int) -> bool:
    """Tell whether an act is due: nothing before it whose order matters is left."""
    group = turn.route.group(step).name
    return in_order(turn.route.plans[group], turn.state.acts.get(group, frozenset()), number)


def _work(turn: Turn, step: Step, acts: tuple[Numbered, ...]) -> None:
    """Record acts, and say what comes after them."""
    group = turn.route.group(step).name
    stage = acts[0][1].stage
    for number, act in acts:
        due = _due(turn, step, number)
        turn.record(PositionWorked(group=group, number=number, act=act, in_order=due))
    turn.tone("recorded")
    left = acts_left(turn, step)
    if not left:
        _say_stage_done(turn, step, acts[0][1])
        complete(turn, step)
        return
    if left[0][1].stage != stage:
        _say_stage_done(turn, step, acts[0][1])
        _say_act(turn, left[0][1])
    else:
        _say_same_again(turn, left[0][1])


def _say_stage_done(turn: Turn, step: Step, act: Act) -> None:
    key = "stage.final" if act.final else "stage.done"
    count = sum(other.stage == act.stage for _, other in turn.route.acts(step))
    turn.say(key, group=_spoken(turn, step), count=count, what=_short_line(act))


def on_position_done(turn: Turn, intent: Intent) -> None:
    """Take a named position as done: the next one, or after a question, another."""
    step = turn.step
    if step.action != "tighten" or not acts_left(turn, step):
        turn.say("tighten.not-here")
        return
    position = int(value_of(intent.slots["position"]))
    wanted = next((pair for pair in stage_left(turn, step) if pair[1].position == position), None)
    first = acts_left(turn, step)[0]
    if wanted is None:
        _say_not_wanted(turn, step, position)
    elif _due(turn, step, wanted[0]):
        _work(turn, step, (wanted,))
    else:
        about = {"step": step.step, "number": str(wanted[0]), "position": str(position)}
        turn.ask("out-of-order", {**about, "expected": str(first[1].position)})


def _say_not_wanted(turn: Turn, step: Step, position: int) -> None:
    count = turn.route.group(step).count
    if 1 <= position <= count:
        turn.say("position.already", position=position)
    else:
        turn.say("position.none", position=position, group=_spoken(turn, step), count=count)
    read_act(turn, step)


def work_out_of_order(turn: Turn, number: int) -> None:
    """Record an act that was said, and said again, to be done out of its turn."""
    act = turn.route.plans[turn.route.group(turn.step).name][number]
    _work(turn, turn.step, ((number, act),))


def on_all_done(turn: Turn, _intent: Intent) -> None:
    """Ask whether all that is left of this stage is done; several facts at once want a second word."""
    if turn.step.action == "tighten" and acts_left(turn, turn.step):
        turn.ask("all-done", {"step": turn.step.step})
    else:
        turn.say("tighten.not-here")


def all_done_line(turn: Turn) -> Line:
    """Ask about the positions that are left of this stage, by number."""
    left = stage_left(turn, turn.step)
    return Line(
        "ask.all-done",
        {"positions": tuple(act.position for _, act in left), "what": what_line(left[0][1])},
    )


def work_stage(turn: Turn) -> None:
    """Record all that is left of this stage."""
    _work(turn, turn.step, stage_left(turn, turn.step))


def _group_named(turn: Turn, intent: Intent) -> FastenerGroup | None:
    """Give the group that was named, if one was."""
    groups = turn.route.procedure.groups.values()
    return next((group for group in groups if group.spoken == intent.slots.get("group")), None)


def on_torque(turn: Turn, intent: Intent) -> None:
    """Say the value that is wanted now, or all that a named group is brought to, stage by stage."""
    if group := _group_named(turn, intent):
        stages = {act.stage: what_line(act) for act in turn.route.plans[group.name]}
        turn.say("torque.group", group=group.spoken, stages=tuple(stages.values()))
    elif turn.step.action != "tighten":
        turn.say("tighten.not-here")
    elif left := acts_left(turn, turn.step):
        turn.say("torque", what=what_line(left[0][1]))
    else:
        turn.say("torque", what=what_line(turn.route.acts(turn.step)[-1][1]))


def on_sequence(turn: Turn, intent: Intent) -> None:
    """Say the order of the stage under way, or of a named group, from its first position to its last."""
    if group := _group_named(turn, intent):
        turn.say("sequence.group", group=group.spoken, positions=group.sequence())
        return
    if turn.step.action != "tighten":
        turn.say("tighten.not-here")
        return
    left = acts_left(turn, turn.step)
    stage = left[0][1].stage if left else 1
    acts = [act for _, act in turn.route.acts(turn.step) if act.stage == stage]
    turn.say("sequence", positions=tuple(act.position for act in acts))


def on_left(turn: Turn, _intent: Intent) -> None:
    """Say how many positions are left of this stage, and which; elsewhere, how many steps."""
    if turn.step.action == "tighten" and acts_left(turn, turn.step):
        positions = tuple(act.position for _, act in stage_left(turn, turn.step))
        turn.say("left.positions", count=len(positions), positions=positions)
    else:
        steps = [
            step for step in turn.route.steps if step.step not in turn.state.done | set(turn.state.skipped)
        ]
        turn.say("left.steps", count=len(steps))


HANDLERS = {
    "position-done": on_position_done,
    "all-done": on_all_done,
    "torque": on_torque,
    "sequence": on_sequence,
    "left": on_left,
}
