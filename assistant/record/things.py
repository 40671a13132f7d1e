"""The words of the record for parts, tools and supplies: in the time line, and where they are open."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from assistant.job.closeout import OpenItem
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
from assistant.job.state import JobState
from assistant.procedure.route import Route


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _removed(_route: Route, event: PartRemoved) -> str:
    return f"{_capital(event.thing)} came off{f', into {event.place}' if event.place else ''}"


def _told(_route: Route, event: PartTold) -> str:
    what = "mark" if event.about == "mark" else "way round"
    return f"{_capital(event.thing)}, {what}: {event.answer}"


def _reused(_route: Route, event: PartReused) -> str:
    once = ", though it is for one use" if event.departure else ""
    return f"Used again{once}: {event.part}. Reason: {event.reason}"


def _used(_route: Route, event: PartUsed) -> str:
    return f"{'Taken as fitted with its step' if event.with_step else 'Fitted from the kit'}: {event.part}"


def _moved(_route: Route, event: ToolMoved) -> str:
    return f"{_capital(event.tool)} {'put in' if event.inside else 'taken out'}{_by_step(event)}"


def _back(_route: Route, event: PartReturned) -> str:
    untold = ", though nobody had told that it was off" if event.untold else ""
    return f"{_capital(event.thing)} back in its place{_by_step(event)}{untold}"


def _by_step(event: ToolMoved | PartReturned) -> str:
    """Tell what nobody said of the thing itself, but is taken so since its step was said to be done."""
    return ", as its step is done" if event.with_step else ""


THING_WORDS: Final[Mapping[type, Callable[[Route, Any], str]]] = {
    PartUsed: _used,
    PartReused: _reused,
    ToolMoved: _moved,
    SupplyApplied: lambda _route, event: f"{_capital(event.what)} put on",
    PartRemoved: _removed,
    PartPlaced: lambda _route, event: f"{_capital(event.thing)} laid into {event.place}",
    PartTold: _told,
    PartReturned: _back,
    LabelGiven: lambda _route, event: f"Label {event.label} given, described by note {event.note}",
}
"""What each kind of event is called."""

Words = tuple[str, str]


def _number(route: Route, item: OpenItem) -> int:
    return route.place(item.step) + 1


def _inside(route: Route, _state: JobState, item: OpenItem) -> Words:
    several = f", {item.count} of them" if item.count > 1 else ""
    return f"Still inside: {item.what}{several}", f"to be taken out at step {_number(route, item)}"


def _off(route: Route, _state: JobState, item: OpenItem) -> Words:
    return f"Not back in place: {item.what}", f"to be put back at step {_number(route, item)}"


def _supply(route: Route, _state: JobState, item: OpenItem) -> Words:
    return f"Not put on: {item.what}", f"wanted at step {_number(route, item)}"


def _unlabelled(route: Route, _state: JobState, item: OpenItem) -> Words:
    return f"A part without a label lies in {item.what}", f"laid there at step {_number(route, item)}"


def _undescribed(route: Route, _state: JobState, item: OpenItem) -> Words:
    return f"Nothing describes {item.what}", f"named at step {_number(route, item)}"


def _used_again(route: Route, _state: JobState, item: OpenItem) -> Words:
    part, _, reason = item.what.partition(", ")
    return f"For one use, but used again: {part}", f"at step {_number(route, item)}, reason: {reason}"


THINGS_OPEN: Final[Mapping[str, Callable[[Route, JobState, OpenItem], Words]]] = {
    "inside": _inside,
    "off": _off,
    "supply": _supply,
    "unlabelled": _unlabelled,
    "undescribed": _undescribed,
    "reused": _used_again,
}
"""The words for each kind of open item that is a thing."""
