"""Being counted through a group: calling, holding, calling again, doing one again, judging one."""

from typing import Final

from assistant.dialogue.acts import acts_left, next_act, say_act, what_line
from assistant.dialogue.intents import Intent
from assistant.dialogue.numbers import value_of
from assistant.dialogue.tightening import has_position, here, read_act
from assistant.dialogue.turn import Turn
from assistant.job.events import PositionMarked, PositionReopened
from assistant.torque.ledger import Standing

MARKS: Final = {"doubtful": Standing.DOUBTFUL, "damaged": Standing.DAMAGED, "broken": Standing.DAMAGED}
"""What a position can be marked as by one word; to call it sound again wants a second one."""


def on_count(turn: Turn, _intent: Intent) -> None:
    """Say which pass this is and of how many, and call the first position that is left."""
    if here(turn):
        _, act = next_act(turn, turn.step)
        positions = {each.position for _, each in turn.route.acts(turn.step) if each.stage == act.stage}
        turn.say("count", stage=act.stage, stages=act.stages, count=len(positions), what=what_line(act))
        say_act(turn, act, short=True)


def on_hold(turn: Turn, _intent: Intent) -> None:
    """Wait for as long as it takes."""
    turn.say("hold")
    turn.passing = True


def on_call_again(turn: Turn, _intent: Intent) -> None:
    """Call the same position again."""
    if here(turn):
        read_act(turn, turn.step)


def on_position_again(turn: Turn, intent: Intent) -> None:
    """Have a position's last act done again; until then it is doubtful."""
    position = int(value_of(intent.slots["position"]))
    if turn.step.action != "tighten":
        turn.say("tighten.not-here")
        return
    if not has_position(turn, position):
        return
    group = turn.route.group(turn.step).name
    done = turn.state.acts.get(group, frozenset())
    worked = [pair for pair in turn.route.acts(turn.step) if pair[0] in done and pair[1].position == position]
    if not worked:
        turn.say("position.not-yet", position=position)
        read_act(turn, turn.step)
        return
    number, act = worked[-1]
    turn.record(PositionReopened(group=group, number=number, position=position))
    turn.tone("recorded")
    say_act(turn, act)


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
    """Record how the mechanic judges a position."""
    group = turn.route.group(turn.step)
    standing = MARKS.get(word) or _sound(turn, position)
    turn.record(
        PositionMarked(group=group.name, position=position, standing=standing, why=f"said to be {word}")
    )
    turn.tone("recorded")
    turn.say("marked", group=group.spoken, position=position, word=word)
    if standing is Standing.DAMAGED:
        turn.say("marked.note")
    elif acts_left(turn, turn.step):
        read_act(turn, turn.step)


def _sound(turn: Turn, position: int) -> Standing:
    """Tell what a position is when it is sound after all: what its last act made of it."""
    group = turn.route.group(turn.step).name
    done = turn.state.acts.get(group, frozenset())
    acts = [
        act
        for number, act in enumerate(turn.route.plans[group])
        if number in done and act.position == position
    ]
    if not acts:
        return Standing.EMPTY
    if acts[-1].final:
        return Standing.FINAL
    return {"hand": Standing.HAND, "snug": Standing.SNUG}.get(acts[-1].kind, Standing.STAGE)


HANDLERS = {
    "count": on_count,
    "hold": on_hold,
    "call-again": on_call_again,
    "position-again": on_position_again,
    "mark": on_mark,
}
