"""Things in the words of other matters: what was recorded of one, and what is open about one."""

from typing import Final

from assistant.dialogue.reply import Line, Slot
from assistant.dialogue.supplies import counted, place_words
from assistant.job.closeout import NAMED_PARTS, OpenItem
from assistant.job.events import (
    Event,
    LabelGiven,
    PartPlaced,
    PartRemoved,
    PartReturned,
    PartReused,
    PartTold,
    PartUsed,
    SupplyApplied,
    ToolMoved,
)


def thing_line(event: Event) -> Line | None:
    """Say an event with a part, tool or supply; None where it is another."""
    if isinstance(event, PartRemoved | PartPlaced) and event.place:
        return Line("undone.laid", {"what": event.thing, "where": place_words(event.place)})
    if isinstance(event, PartRemoved):
        return Line("undone.off", {"what": event.thing})
    if isinstance(event, PartTold):
        return Line("undone.told", {"what": event.thing, "answer": event.answer})
    if isinstance(event, PartReturned):
        return Line("undone.put-back", {"what": event.thing})
    if isinstance(event, LabelGiven):
        return Line("undone.label", {"what": event.label})
    return _counted_line(event)


def _counted_line(event: Event) -> Line | None:
    if isinstance(event, PartUsed):
        return Line("undone.fitted", {"what": event.part})
    if isinstance(event, PartReused):
        return Line("undone.reused", {"what": event.part})
    if isinstance(event, ToolMoved):
        return Line("undone.tool-in" if event.inside else "undone.tool-out", {"what": event.tool})
    if isinstance(event, SupplyApplied):
        return Line("supply.applied", {"what": event.what})
    return None


def open_what(item: OpenItem) -> Slot:
    """Say what an open item is about: several tools with their number, of many parts the first few."""
    if item.kind == "inside":
        return counted(item.what, item.count)
    more = len(item.things) - NAMED_PARTS
    if more > 0:
        return (*item.things[:NAMED_PARTS], Line("open.others", {"count": more}))
    return item.things or item.what


def settle_line(item: OpenItem) -> Line | None:
    """Say how a thing that is open is settled, where its step is done already."""
    if item.kind == "off":
        return Line("settle.off", {"what": item.things[0]})
    return Line(f"settle.{item.kind}", {"what": item.what}) if item.kind in SETTLED_BY_WORD else None


SETTLED_BY_WORD: Final = frozenset({"inside", "supply", "kit", "unlabelled", "undescribed"})
"""Kinds of open things that one thing said settles."""
