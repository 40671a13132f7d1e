"""What is told about a tightening step: values, order, what is left, what a pass has come to."""

from collections import defaultdict
from collections.abc import Collection, Sequence

from assistant.dialogue.acts import (
    Numbered,
    acts_left,
    by_what,
    done_line,
    marked_as,
    next_act,
    record_at,
    stage_left,
    values_line,
    what_line,
    which,
)
from assistant.dialogue.converted import act_in
from assistant.dialogue.intents import Intent
from assistant.dialogue.reply import Line, Slot
from assistant.dialogue.turn import Turn
from assistant.job.events import TorqueTold
from assistant.job.way import open_steps
from assistant.procedure.model import Step
from assistant.torque.group import FastenerGroup
from assistant.torque.ledger import Standing
from assistant.torque.plan import Act


def say_doubted_value(turn: Turn, act: Act) -> None:
    """Warn where the value that was written can hardly be meant."""
    for doubted in turn.route.doubted:
        here = doubted.group == turn.route.group(turn.step).name and doubted.stage == act.stage
        if here and act.position in doubted.positions:
            turn.say(f"value.{doubted.verdict.finding}", meant=doubted.verdict.meant or doubted.value)


def say_pass_done(turn: Turn, step: Step, act: Act, told: Collection[int] = ()) -> None:
    """Say what a pass has brought the positions to, and which of them are not as they should be.

    What was `told` to be damaged or doubtful in the same breath is not told again.
    """
    group = turn.route.group(step)
    block = act.block or act.stage
    last = {each.position: each for _, each in turn.route.acts(step) if (each.block or each.stage) == block}
    wrong = {at for at in last if record_at(turn, step, at).standing in (Standing.DOUBTFUL, Standing.DAMAGED)}
    good = [each for at, each in last.items() if at not in wrong]
    final = bool(good) and all(each.final for each in good)
    if final:
        turn.say("stage.final", group=group.spoken, values=_all_values(good, len(last)))
    elif good:
        turn.say("stage.done", values=_all_values(good, len(last)))
    untold = sorted(wrong.difference(told))
    if untold and not good and len(wrong) > 1:
        turn.say("stage.none", group=group.spoken)
    elif untold:
        count, words = len(untold), {marked_as(record_at(turn, step, at)) for at in untold}
        how: Slot = next(iter(words)) if len(words) == 1 else Line("stage.wrong", {"count": count})
        turn.say("stage.but", which=which(turn, step, untold), count=count, how=how)


def say_marked(turn: Turn, step: Step, acts: Sequence[Numbered]) -> tuple[int, ...]:
    """Say of positions that were worked on although they are marked damaged that they stay so; give these."""
    damaged = []
    for position in dict.fromkeys(act.position for _, act in acts):
        record = record_at(turn, step, position)
        if record.standing is Standing.DAMAGED:
            turn.say("position.marked", position=position, word=marked_as(record))
            damaged.append(position)
    return tuple(damaged)


def _all_values(acts: Sequence[Act], count: int) -> Line:
    """Say all with one value as all; with several, which positions have which."""
    if len(by_what(acts)) > 1 or len(acts) < count:
        return values_line(acts, done_line)
    key = {1: "acts.one", 2: "acts.both"}.get(count, "acts.all")
    return Line(key, {"count": count, "what": done_line(acts[0])})


def _group_named(turn: Turn, intent: Intent) -> FastenerGroup | None:
    """Give the group that was named, if one was."""
    groups = turn.route.procedure.groups.values()
    return next((group for group in groups if group.spoken == intent.slots.get("group")), None)


def on_torque(turn: Turn, intent: Intent) -> None:
    """Say the value that is wanted now, or all that a named group is brought to, stage by stage."""
    if group := _group_named(turn, intent):
        _say_stages(turn, group)
    elif turn.step.action != "tighten":
        turn.say("tighten.not-here")
    elif acts_left(turn, turn.step):
        _say_value(turn, next_act(turn, turn.step)[1])
    else:
        turn.say("torque", what=what_line(turn.route.acts(turn.step)[-1][1]))


def _say_value(turn: Turn, act: Act) -> None:
    """Say the value of an act; of one without any, such as snug, what its group is brought to in the end."""
    if act.value is None:
        _say_stages(turn, turn.route.group(turn.step))
        return
    turn.say("torque", what=what_line(act))
    say_doubted_value(turn, act)


def _say_stages(turn: Turn, group: FastenerGroup) -> None:
    turn.record(TorqueTold(group=group.name))
    turn.say("torque.group", group=group.spoken, stages=_stage_lines(turn.route.plans[group.name]))


def say_stages_in(turn: Turn, group: str, unit: str) -> None:
    """Say what a group is brought to in another unit, rounded for speech; and that what is written counts."""
    written = turn.route.plans[group]
    plan = tuple(act_in(act, unit) for act in written)
    turn.say("torque.group", group=turn.route.procedure.groups[group].spoken, stages=_stage_lines(plan))
    if plan != written:
        turn.say("torque.rounded")


def _stage_lines(plan: Sequence[Act]) -> tuple[Line, ...]:
    """Say what each stage brings the positions to, by position where they differ."""
    stages: dict[int, list[Act]] = defaultdict(list)
    for act in plan:
        stages[act.stage].append(act)
    return tuple(
        by_what(acts)[0][1] if len(by_what(acts)) == 1 else values_line(acts) for acts in stages.values()
    )


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


HANDLERS = {"torque": on_torque, "sequence": on_sequence, "left": on_left}
