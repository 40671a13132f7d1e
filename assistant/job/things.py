"""What events do to parts, tools and supplies: one part of the fold."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

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
from assistant.job.state import Departure, JobState, Laid

LOOSE: Final = "loose part"
"""What a part is called that nobody has labelled."""


LETTERS: Final = (
    *(
        "alfa",
        "bravo",
        "charlie",
        "delta",
        "echo",
        "foxtrot",
        "golf",
        "hotel",
        "india",
        "juliet",
        "kilo",
        "lima",
    ),
    *(
        "mike",
        "november",
        "oscar",
        "papa",
        "quebec",
        "romeo",
        "sierra",
        "tango",
        "uniform",
        "victor",
        "whiskey",
    ),
    *("x ray", "yankee", "zulu"),
)
"""The spelling alphabet of the ICAO (Annex 10, volume II), from memory, spelled as recognisers know its words."""

DIGITS: Final = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def is_label(thing: str) -> bool:
    """Tell whether a part goes by a label: a letter of the spelling alphabet and a digit."""
    letter, _, digit = thing.rpartition(" ")
    return letter in LETTERS and digit in DIGITS


def loose_in(place: str) -> str:
    """Name the part without a label that lies in a place; whatever is said to lie there later is that part."""
    return f"{LOOSE} in {place}"


def is_loose(thing: str) -> bool:
    """Tell whether a part is one without a label."""
    return thing.startswith(f"{LOOSE} ")


def of_reopened(state: JobState, step: str) -> dict[str, Any]:
    """Give what a step that is done again makes of its counts: only what is still inside need not go in again."""
    counted = dict(state.counted)
    for (of, how, name), count in state.counted.items():
        if of == step and how in {"in", "out"}:
            counted[of, how, name] = min(count, state.inside.get(name, 0)) if how == "in" else 0
    return {"counted": counted, "applied": frozenset(pair for pair in state.applied if pair[0] != step)}


def _count(state: JobState, step: str, how: str, name: str) -> Mapping[tuple[str, str, str], int]:
    key = (step, how, name)
    return {**state.counted, key: state.counted.get(key, 0) + 1}


def _used(state: JobState, event: PartUsed, _at: datetime) -> JobState:
    parts = {**state.parts, event.part: state.parts.get(event.part, 0) + 1}
    return replace(state, parts=parts, counted=_count(state, event.step, "use", event.part))


def _reused(state: JobState, event: PartReused, at: datetime) -> JobState:
    departure = Departure(step=event.step, what=f"{event.part} used again", reason=event.reason, at=at)
    return replace(
        state,
        reused=(*state.reused, event),
        counted=_count(state, event.step, "use", event.part),
        departures=(*state.departures, departure) if event.departure else state.departures,
    )


def _moved(state: JobState, event: ToolMoved, _at: datetime) -> JobState:
    count = max(0, state.inside.get(event.tool, 0) + (1 if event.inside else -1))
    inside = {tool: number for tool, number in state.inside.items() if tool != event.tool}
    how = "in" if event.inside else "out"
    return replace(
        state,
        inside={**inside, event.tool: count} if count else inside,
        counted=_count(state, event.step, how, event.tool),
    )


def _applied(state: JobState, event: SupplyApplied, _at: datetime) -> JobState:
    return replace(state, applied=state.applied | {(event.step, event.what)})


def _removed(state: JobState, event: PartRemoved, at: datetime) -> JobState:
    return _with(state, event.thing, Laid(place=event.place, step=event.step, at=at))


def _placed(state: JobState, event: PartPlaced, at: datetime) -> JobState:
    laid = state.off.get(event.thing, Laid(step=event.step, at=at))
    return _with(state, event.thing, replace(laid, place=event.place))


def _labelled(state: JobState, event: LabelGiven, at: datetime) -> JobState:
    laid = state.off.get(event.label, Laid(step=event.step, at=at))
    return replace(_with(state, event.label, laid), labels=state.labels | {event.label})


def _told(state: JobState, event: PartTold, at: datetime) -> JobState:
    laid = state.off.get(event.thing, Laid(step=event.step, at=at))
    return _with(state, event.thing, replace(laid, told={**laid.told, event.about: event.answer}))


def _returned(state: JobState, event: PartReturned, _at: datetime) -> JobState:
    off = {thing: laid for thing, laid in state.off.items() if thing != event.thing}
    return replace(state, off=off, returned=state.returned | {event.thing})


def _with(state: JobState, thing: str, laid: Laid) -> JobState:
    """Lay a part down; if it was not there yet, it is the one that lay there without a label, if there was one."""
    lay_here = thing in state.off and state.off[thing].place == laid.place
    was_there = set() if lay_here else {loose_in(laid.place)} - {thing}
    off = {other: lies for other, lies in state.off.items() if other not in was_there}
    return replace(state, off={**off, thing: laid}, returned=state.returned - {thing})


THING_FOLDS: Final[Mapping[type, Callable[[JobState, Any, datetime], JobState]]] = {
    PartUsed: _used,
    PartReused: _reused,
    ToolMoved: _moved,
    SupplyApplied: _applied,
    PartRemoved: _removed,
    PartPlaced: _placed,
    PartTold: _told,
    PartReturned: _returned,
    LabelGiven: _labelled,
}
"""What each kind of event with a part, tool or supply does to the state."""

THING_EVENTS: Final = tuple(THING_FOLDS)
"""All of them are taken back by `undo`."""
