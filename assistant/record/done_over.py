"""Acts that no longer count, because they were to be done again: why, and since when."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from typing import Any, Final

from assistant.job.events import (
    DamageMended,
    Entry,
    GroupLoosened,
    PassReopened,
    PositionReopened,
    PositionWorked,
)
from assistant.record.base import Recorded, Time


class DoneOver(Recorded):
    """Why an act no longer counts, and since when: it was done again, or is to be."""

    why: str
    at: Time


Reopening = PositionReopened | PassReopened | DamageMended | GroupLoosened
"""What puts acts back to be done."""

_WHY_AGAIN: Final = {
    "again": "the pass was begun again",
    "interrupted": "the pass was left in the middle",
    "tool": "the wrench was changed in the pass",
    "tightened": "it was tightened again after it had been backed off",
}

_WHY: Final[Mapping[type, Callable[[Any], str]]] = {
    PositionReopened: lambda _event: "it was to be done again",
    PassReopened: lambda event: _WHY_AGAIN[event.because],
    DamageMended: lambda event: event.remedy,
    GroupLoosened: lambda _event: "the group was loosened again",
}
"""Why what was done no longer counts, by the kind of event that says so."""


def done_over(entries: Iterable[Entry]) -> dict[int, DoneOver]:
    """Give the acts that no longer count, by the number of their entry; of entries that were not taken back."""
    counting: dict[str, dict[int, int]] = defaultdict(dict)
    over: dict[int, DoneOver] = {}
    for entry in entries:
        event = entry.event
        if isinstance(event, PositionWorked):
            counting[event.group][event.number] = entry.seq
        elif isinstance(event, Reopening):
            done = counting[event.group]
            for number in _numbers(event, done):
                over[done.pop(number)] = DoneOver(why=_WHY[type(event)](event), at=entry.at)
    return over


def _numbers(event: Reopening, done: Mapping[int, int]) -> tuple[int, ...]:
    """Give the acts, by their numbers in the plan, that an event puts back to be done, of those that were done."""
    if isinstance(event, GroupLoosened):
        return tuple(done)
    named = (event.number, *event.leading_up) if isinstance(event, PositionReopened) else event.numbers
    return tuple(number for number in named if number in done)
