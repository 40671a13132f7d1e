"""Finishing: what is still open is told item by item, and is settled or accepted with a reason."""

from collections.abc import Mapping
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.dialogue.reply import Line, Slot
from assistant.dialogue.steps import go_to
from assistant.dialogue.turn import Turn
from assistant.job.closeout import OpenItem, after_heat, open_items
from assistant.job.events import JobClosed

SPOKEN_ITEMS: Final = 3
"""How many open items are told in one breath; the rest are counted."""


def item_line(turn: Turn, item: OpenItem) -> Line:
    """Say one open item."""
    slots: dict[str, Slot] = {
        "number": turn.step_number(item.step),
        "what": item.what,
        "count": len(item.positions) or item.count,
        "positions": item.positions,
    }
    if item.kind == "measurement":
        slots["how"] = Line(f"verdict.{item.what}")
    if item.standing is not None:
        group = turn.route.procedure.groups[item.group]
        slots |= {"group": group.spoken, "standing": Line(f"standing.{item.standing}")}
    return Line(f"open.{item.kind}", slots)


def _items(turn: Turn) -> dict[str, Slot]:
    items = open_items(turn.route, turn.state)
    told = tuple(item_line(turn, item) for item in items[:SPOKEN_ITEMS])
    more = (Line("open.more", {"count": len(items) - len(told)}),) if len(items) > len(told) else ()
    return {"count": len(items), "items": (*told, *more)}


def close_line(turn: Turn) -> Line:
    """Ask whether to close the job, and say with what open."""
    items = _items(turn)
    return Line("ask.close-open", items) if items["count"] else Line("ask.close")


def on_open(turn: Turn, _intent: Intent) -> None:
    """Say what is open in the whole job."""
    items = _items(turn)
    turn.add(Line("open.list", items) if items["count"] else Line("open.nothing"))


def on_finish(turn: Turn, _intent: Intent) -> None:
    """Ask whether the job is to be closed; say what is still to come when the machine has run."""
    if groups := after_heat(turn.route):
        spoken = tuple(turn.route.procedure.groups[name].spoken for name in groups)
        turn.say("close.heat", groups=spoken)
    turn.ask("close")


def close_or_ask(turn: Turn, _about: Mapping[str, str]) -> None:
    """Close a job with nothing open; with something open, ask for the reason first."""
    if open_items(turn.route, turn.state):
        turn.ask("close-reason")
    else:
        _close(turn, "")


def close_with_reason(turn: Turn, _about: Mapping[str, str], reason: str) -> None:
    """Close a job with open items, which the record will show with this reason."""
    _close(turn, reason)


def _close(turn: Turn, reason: str) -> None:
    items = tuple(_named(item) for item in open_items(turn.route, turn.state))
    turn.record(JobClosed(open_items=items, reason=reason))
    turn.tone("recorded")
    turn.say("closed")


def _named(item: OpenItem) -> str:
    """Name an open item in the journal, in plain words."""
    what = (
        f"{item.group} {', '.join(map(str, item.positions))}: {item.standing}" if item.standing else item.what
    )
    return f"{item.kind} at {item.step}" + (f" ({what})" if what else "")


def back_to_work(turn: Turn, _about: Mapping[str, str]) -> None:
    """Go to the first open item, but not past a gate that is unanswered; or leave the job as it is."""
    items = open_items(turn.route, turn.state)
    if not items:
        turn.say("close.not")
        return
    wanted = turn.route.step(items[0].step)
    way = turn.route.steps[: turn.route.place(wanted.step)]
    gate = next((step for step in way if step.check and step.step not in turn.state.done), None)
    go_to(turn, gate or wanted)
    if gate is None and wanted.step in turn.state.done and items[0].positions:
        turn.say("open.settle", position=items[0].positions[0])


HANDLERS = {"open": on_open, "finish": on_finish}
