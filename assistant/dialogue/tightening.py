"""A tightening step: what was done at which position, to what value, in which order, what is left.

The plan of a group (`torque.plan`) is a list of acts in order; a step works through those of its
stages (`dialogue.acts`). An act that is said out of its turn is asked about first where order matters.
"""

from collections import defaultdict
from collections.abc import Collection, Mapping
from itertools import chain

from assistant.dialogue.acts import (
    Numbered,
    acts_left,
    has_position,
    is_due,
    next_act,
    pass_done,
    record_at,
    say_act,
    short_line,
    stage_left,
    values_line,
    what_line,
    which,
)
from assistant.dialogue.backed_off import reopen_after_tightening
from assistant.dialogue.intents import Intent
from assistant.dialogue.numbers import value_of
from assistant.dialogue.reply import Line
from assistant.dialogue.steps import DONE, READERS, complete, owns
from assistant.dialogue.telling import say_doubted_value, say_marked, say_pass_done
from assistant.dialogue.tooling import say_wrench, wrench_for
from assistant.dialogue.turn import Turn
from assistant.job.events import PositionTurned, PositionWorked, Undone
from assistant.procedure.model import Step
from assistant.torque.ledger import Standing
from assistant.torque.plan import Act, seated


def _in_full(act: Act) -> Line:
    """Say what an act brings a position to, and of one that goes round and round, which word ends it."""
    if act.kind == "rise" and act.until == "seated" and act.value is not None:
        return Line("act.rise-seated", {"value": act.value})
    return what_line(act)


@owns(READERS, "tighten")
def read_act(turn: Turn, step: Step) -> None:
    """Say the position that comes next, and its value; where a stage begins, the wrench for it."""
    if not acts_left(turn, step):
        turn.say("group.nothing-left", group=turn.route.group(step).spoken)
        return
    _, act = next_act(turn, step)
    say_act(turn, act, _in_full(act))
    say_doubted_value(turn, act)
    say_wrench(turn, act)
    if turn.route.group(step).left_hand:
        turn.say("group.left-hand")


@owns(DONE, "tighten")
def done_act(turn: Turn, step: Step) -> None:
    """Take the position that came next as done; one that rises until it is seated comes up again."""
    if not acts_left(turn, step):
        complete(turn, step)
        return
    take(turn, step, next_act(turn, step))


def take(turn: Turn, step: Step, wanted: Numbered) -> None:
    """Take an act as done; whether it clicked is asked for first, where it has to."""
    if _wants_a_click(wanted[1]):
        turn.ask("clicked", {"step": step.step, "number": str(wanted[0])})
    else:
        work(turn, step, (wanted,))


def _wants_a_click(act: Act) -> bool:
    """Tell whether this is the last round of a rise, in which the wrench has to click."""
    return act.kind == "rise" and act.clicks and act.final


def work(turn: Turn, step: Step, acts: tuple[Numbered, ...], *, clicked: bool = False) -> None:
    """Record acts, and say what comes after them; what is final waits for a yes where the author wants that."""
    if turn.route.procedure.read_back == "yes" and any(act.final for _, act in acts):
        numbers = ",".join(str(number) for number, _ in acts)
        turn.ask("final", {"step": step.step, "numbers": numbers})
    else:
        record_work(turn, step, acts, clicked=clicked)


def final_line(turn: Turn, about: Mapping[str, str]) -> Line:
    """Read back what is said to be final."""
    acts = [act for _, act in _read_back(turn, about)]
    positions = tuple(act.position for act in acts)
    return Line("ask.final", {"positions": positions, "count": len(positions), "what": what_line(acts[0])})


def work_final(turn: Turn, about: Mapping[str, str]) -> None:
    """Record what was read back and confirmed."""
    record_work(turn, turn.route.step(about["step"]), _read_back(turn, about), clicked=True)


def _read_back(turn: Turn, about: Mapping[str, str]) -> tuple[Numbered, ...]:
    plan = turn.route.plans[turn.route.group(turn.route.step(about["step"])).name]
    numbers = (int(number) for number in about["numbers"].split(","))
    return tuple(
        (number, seated(plan[number]) if plan[number].kind == "rise" else plan[number]) for number in numbers
    )


def record_work(turn: Turn, step: Step, acts: tuple[Numbered, ...], *, clicked: bool = False) -> None:
    """Record acts at once, and say what comes after them; a rise without a last round is only turned by that."""
    group = turn.route.group(step).name
    out_of_turn: dict[str, list[int]] = defaultdict(list)
    for number, act in acts:
        called = number == next_act(turn, step)[0]
        if act.kind == "rise" and act.rounds == 0 and not clicked:
            turn.record(PositionTurned(group=group, number=number, act=act))
            continue
        # In a rise the one that comes next is in its turn, although those before it may not be seated yet.
        due = is_due(turn, step, number) or (act.kind == "rise" and called)
        worked = PositionWorked(group=group, number=number, act=act, in_order=due)
        turn.record(
            worked.model_copy(update={"spared": _spared(turn, step, act), "wrench": wrench_for(turn, act)})
        )
        if due and not called and record_at(turn, step, act.position).standing is not Standing.DAMAGED:
            turn.say("position.named", position=act.position)
        if not due and (key := _how_out_of_turn(turn, step, act.position, called=called)):
            out_of_turn[key].append(act.position)
    turn.tone("recorded")
    for key, positions in out_of_turn.items():
        turn.add(Line(key, {"which": which(turn, step, positions), "count": len(positions)}))
    again = reopen_after_tightening(turn, step, acts)
    told = (*chain.from_iterable(out_of_turn.values()), *again, *say_marked(turn, step, acts))
    _say_what_follows(turn, step, acts[-1][1], told)


def _how_out_of_turn(turn: Turn, step: Step, position: int, *, called: bool) -> str:
    """Give the phrase for what was not due; of what was called all the same, why it is in doubt, "" where it is not."""
    record = record_at(turn, step, position)
    if called:
        return "position.stage-before" if record.doubt == "order" else ""
    doubtful = record.standing is Standing.DOUBTFUL
    return "position.out-of-turn-doubtful" if doubtful else "position.out-of-turn"


def _spared(turn: Turn, step: Step, act: Act) -> tuple[int, ...]:
    """Give the later rounds of a rise that a position no longer needs, once it is seated."""
    if act.kind != "rise" or not act.final:
        return ()
    same = (pair for pair in turn.route.acts(step) if pair[1].stage == act.stage)
    return tuple(number for number, each in same if each.position == act.position and each.round > act.round)


def _say_what_follows(turn: Turn, step: Step, act: Act, told: Collection[int]) -> None:
    """Say the next position, or that the pass, or the whole group, is done."""
    if not acts_left(turn, step):
        say_pass_done(turn, step, act, told)
        complete(turn, step)
        return
    following = next_act(turn, step)[1]
    if (following.block or following.stage) != (act.block or act.stage):
        if record_at(turn, step, act.position).doubt != "again":
            say_pass_done(turn, step, act, told)
        read_act(turn, step)
        return
    if following.round != act.round:
        turn.say("round", round=following.round)
    if _is_more_of_the_same(turn, act, following):
        say_act(turn, following, short_line(following))
    else:
        read_act(turn, step)


def _is_more_of_the_same(turn: Turn, act: Act, following: Act) -> bool:
    """Tell whether the next act has the value and the wrench of this one, so that a short call is enough."""
    return short_line(act) == short_line(following) and wrench_for(turn, act) == wrench_for(turn, following)


def here(turn: Turn) -> bool:
    """Tell whether something is being tightened; says so where not, or where it is done."""
    if turn.step.action != "tighten":
        turn.say("tighten.not-here")
    elif not acts_left(turn, turn.step):
        turn.say("group.nothing-left", group=turn.route.group(turn.step).spoken)
    else:
        return True
    return False


def on_position_done(turn: Turn, intent: Intent) -> None:
    """Take a named position as done: the next one, or after a question, another."""
    if here(turn) and (wanted := _named(turn, intent)) is not None:
        take(turn, turn.step, wanted)


def _named(turn: Turn, intent: Intent) -> Numbered | None:
    """Give the act that is due at a named position; where none is, say so or ask, and give none."""
    step = turn.step
    position = int(value_of(intent.slots["position"]))
    mine = [pair for pair in stage_left(turn, step) if pair[1].position == position]
    wanted = min(mine, key=lambda pair: pair[0], default=None)
    if wanted is None:
        _say_not_wanted(turn, step, position)
    elif wanted != next_act(turn, step) and not is_due(turn, step, wanted[0]):
        expected = next_act(turn, step)[1].position
        about = {"step": step.step, "number": str(wanted[0]), "position": str(position)}
        said = {"said": intent.name} if intent.name == "click" else {}
        turn.ask("out-of-order", {**about, "expected": str(expected), **said})
    else:
        return wanted
    return None


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
        here = any(act.position == position for _, act in pass_done(turn, step))
        turn.say("position.already" if here else "position.not-here", position=position)
    read_act(turn, step)


def on_click(turn: Turn, intent: Intent) -> None:
    """Take the named position, or else the next, as done for good: it clicked, or it is seated."""
    if not here(turn):
        return
    wanted = _named(turn, intent) if "position" in intent.slots else next_act(turn, turn.step)
    if wanted is not None:
        click(turn, wanted)


def click(turn: Turn, wanted: Numbered) -> None:
    """Record an act that clicked: one that rises is seated by that, whichever round it is."""
    number, act = wanted
    work(turn, turn.step, ((number, seated(act) if act.kind == "rise" else act),), clicked=True)


def on_all_done(turn: Turn, _intent: Intent) -> None:
    """Ask whether all that is left of this stage is done; several facts at once want a second word."""
    if here(turn):
        turn.ask("all-done", {"step": turn.step.step})


def all_done_line(turn: Turn) -> Line:
    """Ask about the positions that are left of this stage, by number."""
    return Line("ask.all-done", {"values": values_line(act for _, act in sound_left(turn, turn.step))})


def sound_left(turn: Turn, step: Step) -> tuple[Numbered, ...]:
    """Give what is left of this pass at positions that are not damaged; of damaged ones where only those are left."""
    left = stage_left(turn, step)
    sound = [
        pair for pair in left if record_at(turn, step, pair[1].position).standing is not Standing.DAMAGED
    ]
    return tuple(sound) or left


def clicked_line(turn: Turn, about: Mapping[str, str]) -> Line:
    """Ask whether it clicked, in the last round in which it can."""
    act = turn.route.plans[turn.route.group(turn.step).name][int(about["number"])]
    return Line("ask.clicked", {"position": act.position, "until": act.until or ""})


def work_clicked(turn: Turn, about: Mapping[str, str]) -> None:
    """Record the last round of a rise, which clicked."""
    number = int(about["number"])
    wanted = number, turn.route.plans[turn.route.group(turn.step).name][number]
    work(turn, turn.step, (wanted,), clicked=True)


def work_stage(turn: Turn) -> None:
    """Record all that is left of this pass."""
    work(turn, turn.step, sound_left(turn, turn.step))


HANDLERS = {
    "position-done": on_position_done,
    "correct": on_correct,
    "all-done": on_all_done,
    "click": on_click,
}
