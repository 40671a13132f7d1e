"""What a step needs and moves: read out with it, asked for when it is done, and recorded with it.

Beneath `dialogue.steps`, which calls it for every step; what is said of a single thing is in
`dialogue.parts` and `dialogue.kit`.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Final

from assistant.dialogue.names import kind_of
from assistant.dialogue.reply import Line, Slot
from assistant.dialogue.turn import Turn
from assistant.job.closeout import NAMED_PARTS
from assistant.job.events import Event, PartReturned, PartUsed, ToolMoved
from assistant.job.state import Laid
from assistant.procedure.model import Step
from assistant.procedure.things import Supply

_LAID_PARTS: Final = 2
"""How many parts are told in one breath with their places; of more, each is asked for."""


def counted(name: str, count: int) -> Slot:
    """Say a thing, and how many of it where there are several."""
    return name if count == 1 else Line("several", {"what": name, "count": count})


def listed(names: Sequence[str]) -> tuple[Slot, ...]:
    """Say things that are named as often as they count."""
    return tuple(counted(name, count) for name, count in Counter(names).items())


def kinds(names: Sequence[str]) -> tuple[Slot, ...]:
    """Say many parts by the words that they share, "push rod times four"; few, or parts of several kinds, by name."""
    kind = kind_of(names)
    return (counted(kind, len(names)),) if kind and len(names) > NAMED_PARTS else tuple(names)


def place_words(place: str) -> str:
    """Give a place with the pause that it is spoken with."""
    return place.replace(" slot", ", slot")


def laid_line(thing: str, laid: Laid) -> Line:
    """Say where a part lies, and what was told of it."""
    told = tuple(laid.told.values())
    said = (*((place_words(laid.place),) if laid.place else ()), *told)
    return (
        Line("part.lies", {"what": thing, "where": said}) if said else Line("part.no-place", {"what": thing})
    )


def say_things(turn: Turn, step: Step) -> None:
    """Say what a step needs from the kit, what is put on, and what still goes back, comes off, in and out.

    The kit is said in full: a ring that was counted may be the one that was forgotten.
    """
    if step.use:
        turn.say("step.use", names=listed(step.use))
    for supply in turn.route.supplies(step):
        turn.add(supply_line(supply))
    _say_going_back(turn, step)
    if off := [part for part in step.take_off if not _is_gone(turn, part)]:
        turn.say("step.off", names=kinds(off), count=len(off))
    if put_in := tuple(_rest(turn, step, "in", step.put_in)):
        turn.say("step.put-in", names=listed(put_in))
    if take_out := tuple(_rest(turn, step, "out", step.take_out)):
        turn.say("step.take-out", names=listed(take_out))


def supply_line(supply: Supply) -> Line:
    """Say which supply goes where, and how much of it."""
    if not supply.how_much:
        return Line("supply.plain", {"what": supply.what, "where": supply.where})
    return Line("supply", {"what": supply.what, "where": supply.where, "how": supply.how_much})


def _say_going_back(turn: Turn, step: Step) -> None:
    unknown = [part for part in step.put_back if part not in turn.state.off and part not in step.say]
    off = [part for part in step.put_back if part in turn.state.off]
    if len(off) > _LAID_PARTS or (off and len(unknown) > _LAID_PARTS):
        turn.say("step.back", names=kinds([*unknown, *off]))
        turn.say("step.back-where")
    else:
        if unknown:
            turn.say("step.back", names=kinds(unknown))
        for part in off:
            turn.add(laid_line(part, turn.state.off[part]))
    if own := [part for part in step.put_back if turn.route.procedure.parts[part].own_place]:
        turn.say("step.own-place", count=len(own))


def moves_of(turn: Turn, step: Step) -> tuple[Event, ...]:
    """Give what a step that is done moves, less what was said of it one by one before: taken so with the step."""
    used, put_in = _rest(turn, step, "use", step.use), _rest(turn, step, "in", step.put_in)
    back = (part for part in step.put_back if part not in turn.state.returned)
    known, at = turn.state.off.keys() | came_off_before(turn), step.step
    return (
        *(PartUsed(part=part, step=at, with_step=True) for part in used),
        *(ToolMoved(tool=tool, inside=True, step=at, with_step=True) for tool in put_in),
        *(ToolMoved(tool=tool, inside=False, step=at, with_step=True) for tool in _coming_out(turn, step)),
        *(PartReturned(thing=part, step=at, with_step=True, untold=part not in known) for part in back),
    )


def came_off_before(turn: Turn) -> set[str]:
    """Name the parts that only go back in this procedure: they were off before the job began."""
    off = {thing for step in turn.route.steps for thing in step.take_off}
    return {thing for step in turn.route.steps for thing in step.put_back} - off


def _coming_out(turn: Turn, step: Step) -> Iterator[str]:
    """Name the tools that come out with a step; what was said to be out before it leaves none of the others out."""
    for tool, count in Counter(_rest(turn, step, "out", step.take_out)).items():
        spare = turn.state.inside.get(tool, 0) - _staying(turn, tool)
        yield from [tool] * min(count, max(0, spare))


def _staying(turn: Turn, tool: str) -> int:
    """Count how many of a tool the steps so far leave in the machine."""
    passed = [step for step in turn.route.steps if step.step in turn.state.done]
    left_out = [step for step in turn.route.steps if step.step in turn.state.skipped]
    went_in = sum(step.put_in.count(tool) for step in passed)
    return max(0, went_in - sum(step.take_out.count(tool) for step in (*passed, *left_out)))


def _rest(turn: Turn, step: Step, how: str, names: Sequence[str]) -> Iterator[str]:
    for name, count in Counter(names).items():
        yield from [name] * (count - turn.state.counted.get((step.step, how, name), 0))


def say_taken(turn: Turn, moves: Sequence[Event]) -> None:
    """Name what of the kit is taken as fitted with a step (of much, how much), and what as out, for nobody named it."""
    names = Counter(event.part for event in moves if isinstance(event, PartUsed))
    every = tuple(names.elements())
    said = listed(every) if len(names) <= NAMED_PARTS else kinds(every)
    if len(said) > NAMED_PARTS:
        turn.say("kit.taken-many", count=names.total())
    elif said:
        turn.say("kit.taken", names=said)
    if out := [event.tool for event in moves if isinstance(event, ToolMoved) and not event.inside]:
        turn.say("tool.taken-out", names=listed(out))


def say_counts(turn: Turn, step: Step) -> None:
    """Say how many are left of the parts that a step has used, where the kit has several of them."""
    for part in dict.fromkeys(step.use):
        total = turn.route.procedure.parts[part].count
        if total > 1:
            turn.say("kit.left", what=part, count=kit_left(turn, part), total=total)


def kit_left(turn: Turn, part: str) -> int:
    """Count what is left of a part of the kit, never below 0."""
    used = turn.state.parts.get(part, 0) + sum(event.part == part for event in turn.state.reused)
    return max(0, turn.route.procedure.parts[part].count - used)


def ask_lacking(turn: Turn, step: Step) -> bool:
    """Ask for what a step that is done should have told and has not; tells whether something was asked."""
    asked = next(_lacking(turn, step), None)
    if asked is None:
        return False
    name, about = asked
    turn.ask(name, {"step": step.step, **about})
    return True


def _lacking(turn: Turn, step: Step) -> Iterator[tuple[str, dict[str, str]]]:
    if missing := [part for part in step.take_off if not _is_gone(turn, part)]:
        yield "no-place", {"thing": missing[0], "done": "yes"}
    for part in step.take_off:
        if field := untold(turn, part):
            yield "told", {"thing": part, "field": field, "named": "yes", "done": "yes"}
    for what in unapplied(turn, step):
        yield "applied", {"what": what}


def _is_gone(turn: Turn, part: str) -> bool:
    return part in turn.state.off or part in turn.state.returned


def untold(turn: Turn, part: str) -> str:
    """Name what the procedure asks of a part that is off and nobody has told yet; "" for nothing."""
    known = turn.route.procedure.parts.get(part)
    laid = turn.state.off.get(part)
    if known is None or laid is None:
        return ""
    return next((field for field in known.questions if field not in laid.told), "")


def unapplied(turn: Turn, step: Step) -> tuple[str, ...]:
    """Name what is to be put on at a step and was not yet."""
    wanted = dict.fromkeys(supply.what for supply in turn.route.supplies(step))
    return tuple(what for what in wanted if (step.step, what) not in turn.state.applied)
