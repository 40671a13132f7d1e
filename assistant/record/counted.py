"""What counts in a job, and when it happened: what the rows of a record are made from."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Literal, TypeVar

from assistant.job.events import Entry, StepDone, StepSkipped
from assistant.job.state import JobState
from assistant.procedure.route import Route
from assistant.record.words import number_of

E = TypeVar("E")


@dataclass(frozen=True)
class Counted:
    """A job's entries beside its state; `counted` are the entries that were not taken back."""

    route: Route
    entries: Sequence[Entry]
    counted: Sequence[Entry]
    state: JobState

    def all(self, kind: type[E]) -> list[tuple[datetime, E]]:
        """Give every event of a kind that counts, with its time."""
        return [(entry.at, entry.event) for entry in self.counted if isinstance(entry.event, kind)]

    @cached_property
    def settled(self) -> dict[tuple[str, str], datetime]:
        """When each step was last said to be done or left out, by the step and which of the two."""
        kinds = (StepDone, StepSkipped)
        return {
            (entry.event.step, entry.event.kind): entry.at
            for entry in self.counted
            if isinstance(entry.event, kinds)
        }

    def number(self, step: str) -> int:
        """Give the number of a step, from 1; 0 for what belongs to no step."""
        return number_of(self.route, step)

    def answer(self, step: str) -> Literal["", "yes", "no"]:
        """Give the last answer to what a step asks, if it was answered."""
        if step not in self.state.checks:
            return ""
        return "yes" if self.state.checks[step] else "no"
