"""The demonstration's mechanic: what is said on the short route, and what to do when it is not heard.

The mechanic knows what each thing said should be taken for, listens to what the assistant did with
it, says it again when it was not heard, and takes back what was misheard. It never touches the state.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from assistant.dialogue.intents import Intent
from assistant.dialogue.numbers import unit_of, value_of
from assistant.job.state import JobState

MOST_TRIES: Final = 4
"""A thing is said once, and again three times at most."""


@dataclass(frozen=True, kw_only=True)
class Saying:
    """One thing that the mechanic says, after `minutes` have passed.

    `command` false: it is not for the assistant, which should do nothing with it, or ask again;
    said while a note is being recorded, it is what the note is about.
    """

    words: str
    minutes: float = 0.0
    command: bool = True


def _sayings(*lines: str | Saying) -> tuple[Saying, ...]:
    return tuple(Saying(words=line) if isinstance(line, str) else line for line in lines)


SHORT_ROUTE: Final[tuple[Saying, ...]] = _sayings(
    "yes",
    "yes",
    "done, next",
    "repeat",
    "done, next",
    "yes",
    "next",
    Saying(words="pass me the other one", command=False),
    "done, next",
    "all done",
    "yes",
    "sequence",
    "what torque",
    "number two done",
    "done",
    "how many left",
    "done",
    "done",
    "take a break",
    Saying(words="carry on", minutes=12),
    "done",
    "number three done",
    "done",
    "done",
    "next",
    "start timer",
    Saying(words="how long left", minutes=30),
    "take a note",
    Saying(words="The inlet push rod of cylinder one has a bright ring near its upper end.", command=False),
    "end note",
    Saying(words="yes", minutes=16),
    "next",
    "done, next",
    "measured point two five millimetres",
    "yes",
    "next",
    "all done",
    "yes",
    "done",
    "done",
    "done",
    "leave it out",
    "do it later",
    "yes",
    "next",
    "yes",
    "finish",
    "no",
    "done",
    "play notes",
    "finish",
    "yes",
)
"""The whole of the demonstration, in order: one screw is left only snug, and is not let be forgotten."""


@dataclass(frozen=True, kw_only=True)
class Tally:
    """How the hearing went: commands said, right at the first try, said again, and acted on wrongly."""

    said: int = 0
    right: int = 0
    again: int = 0
    wrong: int = 0


def same_meaning(heard: Sequence[Intent], wanted: Sequence[Intent]) -> bool:
    """Tell whether two lists of intents mean the same: "millimeters" is "millimetres"."""
    return [_meaning(intent) for intent in heard] == [_meaning(intent) for intent in wanted]


def _meaning(intent: Intent) -> tuple[object, ...]:
    readers: dict[str, Callable[[str], object]] = {"value": value_of, "position": value_of, "unit": unit_of}
    slots = sorted(intent.slots.items())
    return (intent.name, *((slot, readers.get(slot, str)(words)) for slot, words in slots))


def way_back(before: JobState, after: JobState) -> str | None:
    """Give what takes back a misheard command, or None where it changed nothing."""
    if after.question is not None and after.question is not before.question:
        return "cancel"
    if after.open_note is not None and before.open_note is None:
        return "end note"
    if after.paused and not before.paused:
        return "resume"
    if _last_turn(after) > _last_turn(before):
        return "undo"
    return "next" if after.at != before.at else None


def _last_turn(state: JobState) -> int:
    return state.pasts[-1].turn if state.pasts else 0
