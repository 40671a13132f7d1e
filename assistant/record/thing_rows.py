"""The rows of a record for parts and tools, as frozen models."""

from assistant.record.base import Recorded, Time


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
        taken = f", {self.with_step} taken so with the step" if self.with_step else ""
        return f"{len(self.fitted)} of {self.wanted}{taken}"

    @property
    def standing(self) -> str:
        """Say whether all of them are dealt with."""
        if len(self.fitted) + self.reused < self.wanted:
            return "left over"
        return "used again" if len(self.fitted) < self.wanted else "fitted"


class Move(Recorded):
    """A tool went in, or came out."""

    inside: bool
    at: Time


class Tool(Recorded):
    """What went into the machine and must come out again."""

    tool: str
    inside: bool
    moves: tuple[Move, ...]


class Removed(Recorded):
    """A part that came off, by its name or label: where it was laid last, what was told of it, when it went back.

    `note` is the file that describes it, where it has a label.
    """

    thing: str
    number: int
    step: str
    at: Time
    place: str
    told: tuple[str, ...]
    note: str
    back: Time | None
