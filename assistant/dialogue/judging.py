"""What a mechanic thinks of a position: to be done again, doubtful, damaged and mended, or sound after all."""

from collections.abc import Mapping
from typing import Final

from assistant.dialogue.acts import (
    SAID_TO_BE,
    Numbered,
    acts_left,
    has_position,
    marked_as,
    record_at,
    say_act,
    short_line,
    what_line,
)
from assistant.dialogue.intents import Intent
from assistant.dialogue.numbers import value_of
from assistant.dialogue.tightening import read_act
from assistant.dialogue.turn import Turn
from assistant.job.events import DamageMended, PositionMarked, PositionReopened
from assistant.torque.ledger import Standing
from assistant.torque.plan import redone_with

MARKS: Final = {
    "doubtful": Standing.DOUBTFUL,
    "damaged": Standing.DAMAGED,
    "stripped": Standing.DAMAGED,
    "broken": Standing.DAMAGED,
}
"""What a position can be marked as by one word; to call it sound again wants a second one."""

REMEDIES: Final[Mapping[str, bool]] = {
    "new bolt": True,
    "new screw": True,
    "new stud": True,
    "thread insert": True,
    "left as it is": False,
    "do it later": False,
}
"""What can be done about damage, in the words of the grammar; true where the position is begun afresh."""


def on_position_again(turn: Turn, intent: Intent) -> None:
    """Have a position's last act done again; until then it is doubtful."""
    position = int(value_of(intent.slots["position"]))
    if turn.step.action != "tighten":
        turn.say("tighten.not-here")
        return
    if not has_position(turn, position):
        return
    if record_at(turn, turn.step, position).standing is Standing.DAMAGED:
        turn.say("position.damaged", position=position)
        _ask_remedy(turn, position)
        return
    here = turn.route.acts(turn.step)
    worked = [pair for pair in _worked(turn, position) if pair in here]
    if not worked:
        again = record_at(turn, turn.step, position).doubt == "again"
        turn.say("position.again-already" if again else "position.not-yet", position=position)
        read_act(turn, turn.step)
        return
    _again(turn, worked[-1])


def _again(turn: Turn, last: Numbered) -> None:
    """Reopen an act; one that cannot simply be repeated with those that lead up to it in this step."""
    number, act = last
    group = turn.route.group(turn.step).name
    plan = turn.route.plans[group]
    first, *_ = leading = redone_with(plan, number)
    here = {each for each, _ in turn.route.acts(turn.step)}
    reopened = tuple(each for each in leading if each in here and each != number)
    turn.record(PositionReopened(group=group, number=number, position=act.position, leading_up=reopened))
    turn.tone("recorded")
    if first != number:
        turn.say("position.loosen", position=act.position, what=short_line(plan[first]))
    act = plan[reopened[0] if reopened else number]
    say_act(turn, act, what_line(act))


def _worked(turn: Turn, position: int) -> tuple[Numbered, ...]:
    """Give the acts that are done at a position, of all stages of its group."""
    group = turn.route.group(turn.step).name
    done = turn.state.acts.get(group, frozenset())
    plan = enumerate(turn.route.plans[group])
    return tuple((number, act) for number, act in plan if number in done and act.position == position)


def on_mark(turn: Turn, intent: Intent) -> None:
    """Mark a position of this step's group; what is marked stays open to the end."""
    position = int(value_of(intent.slots["position"]))
    if turn.step.action != "tighten":
        turn.say("tighten.not-here")
    elif has_position(turn, position):
        word = intent.slots["standing"]
        if word in MARKS:
            mark(turn, position, word)
        else:
            turn.ask("sound", {"step": turn.step.step, "position": str(position)})


def mark(turn: Turn, position: int, word: str) -> None:
    """Record how the mechanic judges a position; of damage, ask what was done about it."""
    group = turn.route.group(turn.step)
    standing = MARKS.get(word) or _sound(turn, position)
    why, record = f"{SAID_TO_BE}{word}", record_at(turn, turn.step, position)
    if (record.standing, record.why) == (standing, why):  # the same mark twice would take two words to undo
        turn.say("marked.already", position=position, word=word)
    else:
        turn.record(PositionMarked(group=group.name, position=position, standing=standing, why=why))
        turn.tone("recorded")
        turn.say("marked", group=group.spoken, position=position, word=word)
    if standing is Standing.DAMAGED:
        _ask_remedy(turn, position)
    elif acts_left(turn, turn.step):
        read_act(turn, turn.step)


def _ask_remedy(turn: Turn, position: int) -> None:
    turn.ask("remedy", {"step": turn.step.step, "position": str(position)})


def leave_damaged(turn: Turn, about: Mapping[str, str]) -> None:
    """Leave a damaged position as it is for now, which stays open, and go on with the work."""
    position = int(about["position"])
    record = record_at(turn, turn.route.step(about["step"]), position)
    turn.say("mended.not", position=position, word=marked_as(record))
    if acts_left(turn, turn.step):
        read_act(turn, turn.step)


def _sound(turn: Turn, position: int) -> Standing:
    """Tell what a position is when it is sound after all: what its last act made of it."""
    worked = _worked(turn, position)
    if not worked:
        return Standing.UNTOUCHED
    last = worked[-1][1]
    if last.final:
        return Standing.FINAL
    return {"hand": Standing.HAND, "snug": Standing.SNUG}.get(last.kind, Standing.STAGE)


def mend(turn: Turn, about: Mapping[str, str], remedy: str) -> None:
    """Record what was done about damage; with a new fastener or thread the position is begun afresh."""
    if remedy not in REMEDIES:
        turn.say("answer.not-a-remedy")
        turn.ask("remedy", about)
        return
    step, position = turn.route.step(about["step"]), int(about["position"])
    afresh = REMEDIES[remedy]
    numbers = tuple(number for number, _ in _worked(turn, position)) if afresh else ()
    turn.record(
        DamageMended(
            group=turn.route.group(step).name,
            position=position,
            remedy=remedy,
            afresh=afresh,
            numbers=numbers,
        )
    )
    turn.tone("recorded")
    key = "mended.afresh" if afresh else "mended.open"
    turn.say(key, position=position, remedy=remedy)
    if acts_left(turn, turn.step):
        read_act(turn, turn.step)


HANDLERS = {"position-again": on_position_again, "mark": on_mark}
