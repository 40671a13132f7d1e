"""The in-memory twin of the journal, for tests and rehearsals: same answers, nothing on disk."""

from collections.abc import Iterator, Sequence
from datetime import datetime

from assistant.job import chain
from assistant.job.events import Entry, Event


class MemoryStore:
    """An append-only store of one job's events that lasts as long as the program."""

    def __init__(self) -> None:
        self._rows: list[chain.Row] = []

    def append(self, turn: int, at: datetime, events: Sequence[Event]) -> tuple[Entry, ...]:
        """Keep the events of one turn, all or none; see `store.Store`."""
        last = self._rows[-1] if self._rows else chain.START
        rows, entries = chain.follow(last, turn, at, events)
        self._rows.extend(rows)
        return entries

    def entries(self) -> Iterator[Entry]:
        """Read every entry from the first on, as they are when this is called."""
        return map(chain.entry, tuple(self._rows))
