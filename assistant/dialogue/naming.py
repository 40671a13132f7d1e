"""Things in the words of other matters: what was recorded of one, and what is open about one."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from assistant.dialogue.reply import Line, Slot
from assistant.dialogue.supplies import counted, place_words
from assistant.job.closeout import NAMED_PARTS, OpenItem
from assistant.job.events import (
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


def _laid(event: PartRemoved | PartPlaced) -> Line:
    """Say that a part came off, or where it was laid."""
    if event.place:
        return Line("undone.laid", {"what": event.thing, "where": place_words(event.place)})
    return Line("undone.off", {"what": event.thing})


THINGS: Final[Mapping[type, Callable[[Any], Line]]] = {
    PartRemoved: _laid,
    PartPlaced: _laid,
    PartTold: lambda event: Line("undone.told", {"what": event.thing, "answer": event.answer}),
    PartReturned: lambda event: Line("undone.put-back", {"what": event.thing}),
    LabelGiven: lambda event: Line("undone.label", {"what": event.label}),
    PartUsed: lambda event: Line("undone.fitted", {"what": event.part}),
    PartReused: lambda event: Line("undone.reused", {"what": event.part}),
    ToolMoved: lambda event: Line(
        "undone.tool-in" if event.inside else "undone.tool-out", {"what": event.tool}
    ),
    SupplyApplied: lambda event: Line("supply.applied", {"what": event.what}),
}
"""How each event with a part, tool or supply is said."""


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
