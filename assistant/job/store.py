"""What keeps the events of one job: on disk (`job.journal`), or in memory for tests and rehearsals."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Protocol

from assistant.job.events import Entry, Event


class Store(Protocol):
    """An append-only store of one job's events."""

    def append(self, turn: int, at: datetime, events: Sequence[Event]) -> tuple[Entry, ...]:
        """Write the events of one turn, all or none; they are on disk when this returns."""
        ...

    def entries(self) -> Iterator[Entry]:
        """Read every entry from the first on."""
        ...
