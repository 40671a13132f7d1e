"""The acts of a tightening step: which are left, which comes next, and how one is said.

A pass is what is gone through before anything else: a stage, one round of a rise, or stages that are done on one
position before the next is touched. A rise without a last round goes round and round: an act that was turned but is
not seated stays left, and the one after it comes next.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable
from typing import Final

from assistant.dialogue.reply import Line, Slot
from assistant.dialogue.turn import Turn
from assistant.procedure.model import Step
from assistant.torque.ledger import PositionRecord, Standing
from assistant.torque.plan import Act, end_of, in_order
from assistant.torque.units import Quantity

_GOES_IN: Final = ("hand", "snug", "replace")
"""Kinds of act with which a fastener goes into its position."""

SAID_TO_BE: Final = "said to be "
"""How the reason of a mark begins; the word that was said follows."""

_NAMED: Final = 12
"""How many positions are named one by one; of more it is said how many."""

Numbered = tuple[int, Act]
"""An act with its number in the group's plan."""


def acts_left(turn: Turn, step: Step) -> tuple[Numbered, ...]:
    """Give the acts of a tightening step that are not done yet, in order."""
    done = turn.state.acts.get(turn.route.group(step).name, frozenset())
    return tuple((number, act) for number, act in turn.route.acts(step) if number not in done)


def is_one_pass(one: Act, other: Act) -> bool:
    """Tell whether two acts belong to one pass."""
    return (one.block or one.stage, one.round) == (other.block or other.stage, other.round)


def stage_left(turn: Turn, step: Step) -> tuple[Numbered, ...]:
    """Give those that are left of the pass under way, the next one first; of damaged positions last."""
    left = acts_left(turn, step)
    here = tuple(pair for pair in left if is_one_pass(pair[1], left[0][1]))
    turned = turn.state.turned.get(turn.route.group(step).name, -1)
    round_ = (*(pair for pair in here if pair[0] > turned), *(pair for pair in here if pair[0] <= turned))
    return tuple(sorted(round_, key=lambda pair: _is_damaged(turn, step, pair[1].position)))


def _is_damaged(turn: Turn, step: Step, position: int) -> bool:
    return record_at(turn, step, position).standing is Standing.DAMAGED


def record_at(turn: Turn, step: Step, position: int) -> PositionRecord:
    """Give what is known of a position of the step's group."""
    return turn.state.ledger.get((turn.route.group(step).name, position), PositionRecord())


def has_position(turn: Turn, position: int) -> bool:
    """Tell whether the group of this step has such a position; says so where not."""
    group = turn.route.group(turn.step)
    if 1 <= position <= group.count:
        return True
    turn.say("position.none", position=position, group=group.spoken, count=group.count)
    return False


def marked_as(record: PositionRecord) -> str:
    """Give the word with which a position was marked, such as "broken"; else how it stands."""
    _, _, said = record.why.partition(SAID_TO_BE)
    return said.partition(";")[0] or str(record.standing)


def next_act(turn: Turn, step: Step) -> Numbered:
    """Give the act that comes next; there must be one left."""
    return stage_left(turn, step)[0]


def pass_done(turn: Turn, step: Step) -> tuple[Numbered, ...]:
    """Give what is done already of the pass under way; there must be an act left."""
    left = next_act(turn, step)[1]
    done = turn.state.acts.get(turn.route.group(step).name, frozenset())
    return tuple(pair for pair in turn.route.acts(step) if pair[0] in done and is_one_pass(pair[1], left))


def is_due(turn: Turn, step: Step, number: int) -> bool:
    """Tell whether an act is due: nothing before it whose order matters is left, but for what is damaged."""
    group = turn.route.group(step).name
    plan = turn.route.plans[group]
    damaged = {n for n, act in enumerate(plan) if _is_damaged(turn, step, act.position)}
    return in_order(plan, turn.state.acts.get(group, frozenset()) | damaged, number)


def what_line(act: Act) -> Line:
    """Say what an act brings a position to: "snug", or a value in full, with digits where it needs them."""
    if act.kind == "rise" and isinstance(act.until, Quantity):
        key = "act.rise-click" if act.clicks else "act.rise-until"
        return Line(key, {"value": act.value or act.until, "until": act.until})
    if act.kind == "centre" and act.value is None:
        return Line("act.centre-by-hand")
    return Line(f"act.{act.kind}", {"value": act.value} if act.value is not None else {})


def short_line(act: Act) -> Line:
    """Say the same without the digits, where they were given when the pass began."""
    return Line("act.value", {"value": act.value}) if act.kind == "torque" and act.value else what_line(act)


def done_line(act: Act) -> Line:
    """Say what an act has brought a position to, once it is done."""
    if act.kind != "rise":
        return short_line(act)
    end = end_of(act)
    return Line("act.value", {"value": end}) if isinstance(end, Quantity) else Line("act.seated")


def say_act(turn: Turn, act: Act, what: Line) -> None:
    """Call a position, and what it is brought to; which fastener goes in, where they differ in length."""
    first = act.kind in _GOES_IN or (act.previous == 0 and act.round == 1)
    length = turn.route.group(turn.step).lengths.get(act.position) if first else None
    if length is None:
        turn.say("act", position=act.position, what=what)
    else:
        turn.say("act.length", position=act.position, what=what, length=length)


def which(turn: Turn, step: Step, positions: Collection[int]) -> Line:
    """Name positions of the step's group; where they are all of them, or many, say that, or how many."""
    count, total = len(positions), turn.route.group(step).count
    if 1 < count == total:
        return Line("positions.all", {"count": count})
    if count > _NAMED:
        return Line("positions.many", {"count": count, "total": total})
    return Line("positions.some", {"positions": tuple(positions), "count": count})


def by_what(
    acts: Iterable[Act], say: Callable[[Act], Line] = what_line
) -> tuple[tuple[tuple[int, ...], Line], ...]:
    """Bring positions together that are brought to the same, each once, with what that is."""
    positions: dict[str, dict[int, None]] = defaultdict(dict)
    lines: dict[str, Line] = {}
    for act in acts:
        what = f"{act.kind} {act.value} {act.until} {act.clicks}"
        positions[what][act.position] = None
        lines.setdefault(what, say(act))
    return tuple((tuple(at), lines[what]) for what, at in positions.items())


def values_line(acts: Iterable[Act], say: Callable[[Act], Line] = what_line) -> Line:
    """Say which positions are brought to what."""
    parts: tuple[Slot, ...] = tuple(
        Line("acts.some", {"positions": positions, "count": len(positions), "what": what})
        for positions, what in by_what(acts, say)
    )
    return Line("acts.several", {"parts": parts})
