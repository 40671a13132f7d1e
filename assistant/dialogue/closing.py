"""Finishing: what is open is told item by item, settled or accepted with a reason; then the first start."""

from collections.abc import Mapping
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.dialogue.reply import Line, Slot
from assistant.dialogue.steps import go_to
from assistant.dialogue.supplies import counted
from assistant.dialogue.turn import Turn
from assistant.job.closeout import NAMED_PARTS, OpenItem, after_heat, open_items
from assistant.job.events import CloseOutPassed, JobClosed, OpenAccepted
from assistant.job.way import missing_before, next_step
from assistant.procedure.model import Step

_BOTH: Final = 2

SPOKEN_ITEMS: Final = 3
"""How many open items are told in one breath; the rest are counted."""


def item_line(turn: Turn, item: OpenItem) -> Line:
    """Say one open item."""
    slots: dict[str, Slot] = {
        "number": turn.step_number(item.step),
        "what": _what(item),
        "count": len(item.positions) or item.count,
        "positions": item.positions,
    }
    if item.kind == "measurement":
        slots["how"] = Line(f"verdict.{item.what}")
    if item.standing is not None:
        group = turn.route.procedure.groups[item.group]
        slots |= {"group": group.spoken, "standing": Line(f"standing.{item.standing}")}
        if len(item.positions) == group.count > 1:
            key = "open.both" if group.count == _BOTH else "open.all"
            return Line("open.all-positions", {**slots, "all": Line(key, {"count": group.count})})
    return Line(f"open.{item.kind}", slots)


def _what(item: OpenItem) -> Slot:
    """Say what an open item is about: several tools with their number, of many parts the first few."""
    if item.kind == "inside":
        return counted(item.what, item.count)
    more = len(item.things) - NAMED_PARTS
    if more > 0:
        return (*item.things[:NAMED_PARTS], Line("open.others", {"count": more}))
    return item.things or item.what


def _items(turn: Turn) -> dict[str, Slot]:
    items = open_items(turn.route, turn.state)
    told = tuple(item_line(turn, item) for item in items[:SPOKEN_ITEMS])
    more = (Line("open.more", {"count": len(items) - len(told)}),) if len(items) > len(told) else ()
    return {"count": len(items), "items": (*told, *more)}


def on_open(turn: Turn, intent: Intent) -> None:
    """Say what is open in the whole job, or on a named group."""
    if name := intent.slots.get("group"):
        _say_open_of(turn, name)
        return
    items = _items(turn)
    turn.add(Line("open.list", items) if items["count"] else Line("open.nothing"))


def _say_open_of(turn: Turn, name: str) -> None:
    groups = turn.route.procedure.groups
    mine = [
        item
        for item in open_items(turn.route, turn.state)
        if item.group and groups[item.group].spoken == name
    ]
    if mine:
        turn.say("open.of-group", items=tuple(item_line(turn, item) for item in mine))
    else:
        turn.say("open.group-final", group=name)


def _unsettled(turn: Turn) -> tuple[OpenItem, ...]:
    """Give the open items that nobody has accepted as they are."""
    items = open_items(turn.route, turn.state)
    return tuple(item for item in items if _named(item) not in turn.state.accepted_open)


def open_line(turn: Turn) -> Line:
    """Say the first open item and how many there are, and ask whether it is to stay so."""
    items = _unsettled(turn)
    return Line("ask.close-open", {"count": len(items), "item": item_line(turn, items[0])})


def reason_line(turn: Turn) -> Line:
    """Ask again for the reason why the first open item is to stay so."""
    return Line("ask.close-reason", {"item": item_line(turn, _unsettled(turn)[0])})


def close_line(turn: Turn) -> Line:
    """Ask whether to close the job, and say how much was accepted as it is."""
    count = len(open_items(turn.route, turn.state))
    return Line("ask.close-accepted", {"count": count}) if count else Line("ask.close")


def on_finish(turn: Turn, _intent: Intent) -> None:
    """Go through what is open, item by item; then the first start, if the procedure has one; then close."""
    if _unsettled(turn):
        turn.ask("close-open")
    elif _has_first_start(turn) and not turn.state.closing:
        _begin_first_start(turn)
    else:
        _say_after_heat(turn)
        turn.ask("close")


def accept(turn: Turn, _about: Mapping[str, str], reason: str) -> None:
    """Accept the first open item as it is, with its reason, and go on to the next."""
    turn.record(OpenAccepted(item=_named(_unsettled(turn)[0]), reason=reason))
    on_finish(turn, Intent(name="finish"))


def _has_first_start(turn: Turn) -> bool:
    """Tell whether any of the checks of the first start is on this route."""
    return any(name in turn.route.under for name in turn.route.procedure.first_start)


def _begin_first_start(turn: Turn) -> None:
    turn.record(CloseOutPassed())
    turn.say("first-start")
    if step := next_step(turn.route, turn.state, turn.step.step):
        go_to(turn, step)
    else:
        on_finish(turn, Intent(name="finish"))


def _say_after_heat(turn: Turn) -> None:
    """Say what is still to come when the machine has run."""
    if groups := after_heat(turn.route):
        spoken = tuple(turn.route.procedure.groups[name].spoken for name in groups)
        turn.say("close.heat", groups=spoken)


def close(turn: Turn) -> None:
    """Close the job; what is open was accepted, and the record shows it with its reasons."""
    accepted = turn.state.accepted_open
    items = tuple(_named(item) for item in open_items(turn.route, turn.state))
    reasons = dict.fromkeys(accepted[item] for item in items if item in accepted)
    turn.record(JobClosed(open_items=items, reason="; ".join(reasons)))
    turn.tone("recorded")
    turn.say("closed")


def _named(item: OpenItem) -> str:
    """Name an open item in the journal, in plain words."""
    several = f", {item.count} of them" if item.kind == "inside" and item.count > 1 else ""
    what = (
        f"{item.group} {', '.join(map(str, item.positions))}: {item.standing}"
        if item.standing
        else f"{item.what}{several}"
    )
    return f"{item.kind} at {item.step}" + (f" ({what})" if what else "")


def back_to_work(turn: Turn) -> None:
    """Go to the first open item, or to what comes before it; where nothing is asked, say what settles it."""
    item = _unsettled(turn)[0]
    wanted = turn.route.step(item.step)
    first = next(iter(missing_before(turn.route, turn.state, wanted)), None)
    go_to(turn, first or wanted)
    if first is not None or turn.state.question is not None or wanted.step not in turn.state.done:
        return
    if item.positions:
        turn.say("open.settle", position=item.positions[0])
    elif line := _settle_line(item, wanted):
        turn.add(line)


_HEARS_NO_KIT: Final = frozenset({"tighten", "measure", "wait"})
"""Actions of steps at which the parts of the kit are not listened for."""


def _settle_line(item: OpenItem, step: Step) -> Line | None:
    """Say how a thing that is open is settled at its step, which is done already; nothing that is not heard there."""
    if item.kind == "kit" and step.action in _HEARS_NO_KIT:
        return None
    if item.kind == "off":
        return Line("settle.off", {"what": item.things[0]})
    return Line(f"settle.{item.kind}", {"what": item.what}) if item.kind in SETTLED_BY_WORD else None


SETTLED_BY_WORD: Final = frozenset({"inside", "supply", "kit", "unlabelled", "undescribed"})
"""Kinds of open things that one thing said settles."""


HANDLERS = {"open": on_open, "finish": on_finish}
