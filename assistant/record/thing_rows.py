"""The rows of a record for parts and tools, as frozen models."""

from typing import Final

from assistant.record.base import Recorded, Time

TAKEN_SO: Final = "taken so with the step"
"""What marks a thing that nobody named, and that counts since its step was said to be done."""


class Part(Recorded):
    """A kit item: how many the procedure wants, when each was fitted, and how often the old one was used again.

    `with_step` of those that were fitted were not named: they count since their step was said to be done.
    """

    part: str
    wanted: int
    use_once: bool
    fitted: tuple[Time, ...]
    with_step: int = 0
    reused: int = 0

    @property
    def fitted_words(self) -> str:
        """Say how many of them are fitted, and how many of these are only taken so."""
        taken = f", {self.with_step} {TAKEN_SO}" if self.with_step else ""
        return f"{len(self.fitted)} of {self.wanted}{taken}"

    @property
    def standing(self) -> str:
        """Say whether all of them are dealt with."""
        if len(self.fitted) + self.reused < self.wanted:
            return "left over"
        return "used again" if len(self.fitted) < self.wanted else "fitted"


class Move(Recorded):
    """A tool went in, or came out; `with_step`: nobody named it, it counts since its step was said to be done."""

    inside: bool
    at: Time
    with_step: bool = False

    @property
    def mark(self) -> str:
        """What stands behind the time of a move that is only taken so."""
        return f", {TAKEN_SO}" if self.with_step else ""


class Tool(Recorded):
    """What went into the machine and must come out again."""

    tool: str
    inside: bool
    moves: tuple[Move, ...]


class Removed(Recorded):
    """A part that came off, by its name or label: where it was laid last, what was told of it, when it went back.

    `note` is the file that describes it, where it has a label; `with_step` says that nobody named it when it went back.
    """

    thing: str
    number: int
    step: str
    at: Time
    place: str
    told: tuple[str, ...]
    note: str
    back: Time | None
    with_step: bool = False

    @property
    def mark(self) -> str:
        """What stands behind the time of a return that is only taken so."""
        return f", {TAKEN_SO}" if self.with_step else ""
