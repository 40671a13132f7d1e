"""A tightening step: what was done at which position, to what value, in which order, what is left.

The plan of a group (`torque.plan`) is a list of acts in order; a step works through those of its
stages (`dialogue.acts`). An act that is said out of its turn is asked about first where order matters.
"""

from collections.abc import Mapping

from assistant.dialogue.acts import (
    Numbered,
    acts_left,
    is_due,
    next_act,
    say_act,
    short_line,
    stage_left,
    what_line,
)
from assistant.dialogue.intents import Intent
from assistant.dialogue.numbers import value_of
from assistant.dialogue.reply import Line
from assistant.dialogue.steps import DONE, READERS, complete, owns
from assistant.dialogue.tooling import say_wrench, wrench_for
from assistant.dialogue.turn import Turn
from assistant.job.events import PositionTurned, PositionWorked, Undone
from assistant.job.way import open_steps
from assistant.procedure.model import Step
from assistant.torque.group import FastenerGroup
from assistant.torque.plan import Act, seated


@owns(READERS, "tighten")
def read_act(turn: Turn, step: Step) -> None:
    """Say the position that comes next, and its value; where a stage begins, the wrench for it."""
    if not acts_left(turn, step):
        turn.say("group.nothing-left", group=turn.route.group(step).spoken)
        return
    _, act = next_act(turn, step)
    say_act(turn, act)
    say_doubted_value(turn, act)
    say_wrench(turn, act)
    if turn.route.group(step).left_hand:
        turn.say("group.left-hand")


def say_doubted_value(turn: Turn, act: Act) -> None:
    """Warn where the value that was written can hardly be meant."""
    for doubted in turn.route.doubted:
        here = doubted.group == turn.route.group(turn.step).name and doubted.stage == act.stage
        if here and act.position in doubted.positions:
            turn.say(f"value.{doubted.verdict.finding}", meant=doubted.verdict.meant or doubted.value)


@owns(DONE, "tighten")
def done_act(turn: Turn, step: Step) -> None:
    """Take the position that came next as done; one that rises until it is seated comes up again."""
    if not acts_left(turn, step):
        complete(turn, step)
        return
    number, act = next_act(turn, step)
    if act.kind == "rise" and act.rounds == 0:
        turn.record(PositionTurned(group=turn.route.group(step).name, number=number, act=act))
        turn.tone("recorded")
        say_act(turn, next_act(turn, step)[1], short=True)
    else:
        work(turn, step, ((number, act),))


def work(turn: Turn, step: Step, acts: tuple[Numbered, ...]) -> None:
    """Record acts, and say what comes after them; what is final waits for a yes where the author wants that."""
    if turn.route.procedure.read_back == "yes" and any(act.final for _, act in acts):
        numbers = ",".join(str(number) for number, _ in acts)
        turn.ask("final", {"step": step.step, "numbers": numbers})
    else:
        record_work(turn, step, acts)


def final_line(turn: Turn, about: Mapping[str, str]) -> Line:
    """Read back what is said to be final."""
    acts = [act for _, act in _read_back(turn, about)]
    return Line("ask.final", {"positions": tuple(act.position for act in acts), "what": what_line(acts[0])})


def work_final(turn: Turn, about: Mapping[str, str]) -> None:
    """Record what was read back and confirmed."""
    record_work(turn, turn.route.step(about["step"]), _read_back(turn, about))


def _read_back(turn: Turn, about: Mapping[str, str]) -> tuple[Numbered, ...]:
    plan = turn.route.plans[turn.route.group(turn.route.step(about["step"])).name]
    numbers = (int(number) for number in about["numbers"].split(","))
    return tuple(
        (number, seated(plan[number]) if plan[number].kind == "rise" else plan[number]) for number in numbers
    )


def record_work(turn: Turn, step: Step, acts: tuple[Numbered, ...]) -> None:
    """Record acts at once, and say what comes after them."""
    group = turn.route.group(step).name
    for number, act in acts:
        due = is_due(turn, step, number)
        worked = PositionWorked(group=group, number=number, act=act, in_order=due)
        turn.record(
            worked.model_copy(update={"spared": _spared(turn, step, act), "wrench": wrench_for(turn, act)})
        )
    turn.tone("recorded")
    _say_what_follows(turn, step, acts[-1][1])


def _spared(turn: Turn, step: Step, act: Act) -> tuple[int, ...]:
    """Give the later rounds of a rise that a position no longer needs, once it is seated."""
    if act.kind != "rise" or not act.final:
        return ()
    same = (pair for pair in turn.route.acts(step) if pair[1].stage == act.stage)
    return tuple(number for number, each in same if each.position == act.position and each.round > act.round)


def _say_what_follows(turn: Turn, step: Step, act: Act) -> None:
    """Say the next position, or that the stage, or the whole group, is done."""
    if not acts_left(turn, step):
        _say_stage_done(turn, step, act)
        complete(turn, step)
        return
    following = next_act(turn, step)[1]
    if following.stage != act.stage:
        _say_stage_done(turn, step, act)
        read_act(turn, step)
        return
    if following.round != act.round:
        turn.say("round", round=following.round)
    say_act(turn, following, short=True)


def _say_stage_done(turn: Turn, step: Step, act: Act) -> None:
    group = turn.route.group(step)
    count = len({other.position for _, other in turn.route.acts(step) if other.stage == act.stage})
    how_many = "one-" if count == 1 else ""
    key = f"stage.{how_many}{'final' if act.final else 'done'}"
    turn.say(key, group=group.spoken, count=count, what=short_line(act))


def here(turn: Turn) -> bool:
    """Tell whether something is being tightened; says so where not."""
    if turn.step.action == "tighten" and acts_left(turn, turn.step):
        return True
    turn.say("tighten.not-here")
    return False


def on_position_done(turn: Turn, intent: Intent) -> None:
    """Take a named position as done: the next one, or after a question, another."""
    if not here(turn):
        return
    step = turn.step
    position = int(value_of(intent.slots["position"]))
    wanted = next((pair for pair in stage_left(turn, step) if pair[1].position == position), None)
    if wanted is None:
        _say_not_wanted(turn, step, position)
    elif is_due(turn, step, wanted[0]):
        work(turn, step, (wanted,))
    else:
        expected = next_act(turn, step)[1].position
        about = {"step": step.step, "number": str(wanted[0]), "position": str(position)}
        turn.ask("out-of-order", {**about, "expected": str(expected)})


def on_correct(turn: Turn, intent: Intent) -> None:
    """Take back the position that was recorded last, and take this one instead."""
    if not here(turn):
        return
    past = turn.state.pasts[-1] if turn.state.pasts else None
    group = turn.route.group(turn.step).name
    last = past.events[0] if past else None
    if past is None or not isinstance(last, PositionWorked) or last.group != group:
        turn.say("correct.nothing")
        return
    turn.record(Undone(turn=past.turn))
    on_position_done(turn, intent)


def _say_not_wanted(turn: Turn, step: Step, position: int) -> None:
    if has_position(turn, position):
        turn.say("position.already", position=position)
    read_act(turn, step)


def has_position(turn: Turn, position: int) -> bool:
    """Tell whether the group of this step has such a position; says so where not."""
    group = turn.route.group(turn.step)
    if 1 <= position <= group.count:
        return True
    turn.say("position.none", position=position, group=group.spoken, count=group.count)
    return False


def work_out_of_order(turn: Turn, number: int) -> None:
    """Record an act that was said, and said again, to be done out of its turn."""
    act = turn.route.plans[turn.route.group(turn.step).name][number]
    work(turn, turn.step, ((number, act),))


def on_click(turn: Turn, _intent: Intent) -> None:
    """Take the position that came next as done for good: it clicked, or it is seated."""
    if here(turn):
        number, act = next_act(turn, turn.step)
        work(turn, turn.step, ((number, seated(act) if act.kind == "rise" else act),))


def on_all_done(turn: Turn, _intent: Intent) -> None:
    """Ask whether all that is left of this stage is done; several facts at once want a second word."""
    if here(turn):
        turn.ask("all-done", {"step": turn.step.step})


def all_done_line(turn: Turn) -> Line:
    """Ask about the positions that are left of this stage, by number."""
    left = stage_left(turn, turn.step)
    positions = tuple(dict.fromkeys(act.position for _, act in left))
    return Line("ask.all-done", {"positions": positions, "what": what_line(left[0][1])})


def work_stage(turn: Turn) -> None:
    """Record all that is left of this stage."""
    work(turn, turn.step, stage_left(turn, turn.step))


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
    elif acts_left(turn, turn.step):
        act = next_act(turn, turn.step)[1]
        turn.say("torque", what=what_line(act))
        say_doubted_value(turn, act)
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
    turn.say("sequence", positions=tuple(dict.fromkeys(act.position for act in acts)))


def on_left(turn: Turn, _intent: Intent) -> None:
    """Say how many positions are left of this stage, and which; elsewhere, how many steps."""
    if turn.step.action == "tighten" and acts_left(turn, turn.step):
        positions = tuple(dict.fromkeys(act.position for _, act in stage_left(turn, turn.step)))
        turn.say("left.positions", count=len(positions), positions=positions)
    else:
        turn.say("left.steps", count=len(open_steps(turn.route, turn.state)))


HANDLERS = {
    "position-done": on_position_done,
    "correct": on_correct,
    "all-done": on_all_done,
    "click": on_click,
    "torque": on_torque,
    "sequence": on_sequence,
    "left": on_left,
}
