"""The journal of one job: an SQLite file to which entries are only ever appended.

Each turn is one transaction, and it is on disk when `append` returns, before the reply to it is
spoken. SQLite's write-ahead log is used: a turn then costs one flush of the disk, where the
other ways take several, and whoever reads (a record, a list of jobs) never makes the writer wait. A
killed program leaves the log beside the file, and the next opening takes it in.

Triggers refuse to change, remove or squeeze in an entry. The chain of hashes (`job.chain`) shows
it where someone got round them, or where the disk did.
"""

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from assistant.errors import JobError
from assistant.job import chain
from assistant.job.events import Entry, Event

FORMAT: Final = 1
"""The format of the file, written into it; a journal of a higher one is refused."""

_APPLICATION: Final = 0x43414C4C
"""SQLite's mark of whose file it is."""

_SCHEMA: Final = f"""
BEGIN;
CREATE TABLE entries (
    seq INTEGER PRIMARY KEY,
    turn INTEGER NOT NULL,
    at TEXT NOT NULL,
    kind TEXT NOT NULL,
    version INTEGER NOT NULL,
    body TEXT NOT NULL,
    prev_hash TEXT NOT NULL,
    hash TEXT NOT NULL
);
CREATE TRIGGER no_update BEFORE UPDATE ON entries
BEGIN SELECT RAISE(ABORT, 'entries are only appended'); END;
CREATE TRIGGER no_delete BEFORE DELETE ON entries
BEGIN SELECT RAISE(ABORT, 'entries are only appended'); END;
CREATE TRIGGER in_turn BEFORE INSERT ON entries
WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM entries)
    OR NEW.prev_hash IS NOT
        coalesce((SELECT hash FROM entries ORDER BY seq DESC LIMIT 1), '{chain.START.hash}')
BEGIN SELECT RAISE(ABORT, 'an entry follows the last one'); END;
PRAGMA application_id = {_APPLICATION};
PRAGMA user_version = {FORMAT};
COMMIT;
"""  # noqa: S608 - fixed text

_COLUMNS: Final = ", ".join(chain.Row._fields)
_INSERT: Final = f"INSERT INTO entries ({_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?)"  # noqa: S608 - fixed names
_READ: Final = f"SELECT {_COLUMNS} FROM entries ORDER BY seq"  # noqa: S608 - fixed names
_LAST: Final = f"{_READ} DESC LIMIT 1"

_KEPT: Final = "nothing of what was recorded is lost"
_NOT_OURS: Final = ("this is not a journal of callout", "check the path")

# What SQLite reports, by the low byte of its code: what it means to the mechanic, and what to do.
_TROUBLES: Final = {
    sqlite3.SQLITE_FULL: (f"the disk is full; {_KEPT}", "free some space and say it again"),
    sqlite3.SQLITE_IOERR: (f"the disk failed; {_KEPT}", "check the disk and say it again"),
    sqlite3.SQLITE_BUSY: ("another program holds the journal", "close that program"),
    sqlite3.SQLITE_READONLY: (
        "the journal may only be read here",
        "open it for writing, or mend its permissions",
    ),
    sqlite3.SQLITE_CONSTRAINT: ("another program has added to this journal", "open the job again"),
    sqlite3.SQLITE_CANTOPEN: (
        "there is no journal here that can be opened",
        "check the path and its permissions",
    ),
    sqlite3.SQLITE_NOTADB: _NOT_OURS,
    sqlite3.SQLITE_CORRUPT: ("the journal is damaged", chain.DAMAGED),
}


class Journal:
    """An open journal; a `store.Store`.

    One program appends; any number may read, with `read_only`. It is used by the thread that opened it.
    """

    def __init__(self, path: Path, *, read_only: bool = False) -> None:
        """Open the journal at `path`.

        Raises JobError where there is none, it is not one, or a newer version made it.
        """
        self.path = path
        self._last = chain.START
        with _explained(path):
            self._connection = _connect(path, mode="rw")
        try:
            self._prepare(read_only=read_only)
        except BaseException:
            self.close()
            raise

    @classmethod
    def create(cls, path: Path) -> Self:
        """Make an empty journal at `path` and open it; JobError where something is there already."""
        if path.exists():
            raise JobError("there is a journal already", where=str(path), do="open it")
        with _explained(path), closing(_connect(path, mode="rwc")) as connection:
            connection.execute("PRAGMA journal_mode = WAL")
            connection.executescript(_SCHEMA)
        return cls(path)

    def append(self, turn: int, at: datetime, events: Sequence[Event]) -> tuple[Entry, ...]:
        """Write the events of one turn, all or none; they are on disk when this returns.

        What comes back is what `entries` will give.
        Raises JobError where an event cannot be written, another program has added to the journal,
        or the disk is full; the journal is then as it was, and the turn may be tried again.
        """
        rows, entries = chain.follow(self._last, turn, at, events)
        if rows:
            with _explained(self.path), self._transaction():
                self._connection.executemany(_INSERT, rows)
            self._last = rows[-1]
        return entries

    def entries(self) -> Iterator[Entry]:
        """Read every entry from the first on; the chain is checked on the way.

        Raises JobError, naming the entry, for one that is missing, altered or unreadable.
        """
        for row, fault in self._walk():
            if fault is not None:
                raise self._fault(fault)
            try:
                entry = chain.entry(row)
            except JobError as error:
                raise JobError(error.what, where=str(self.path), do=error.do) from error
            yield entry

    @property
    def seal(self) -> str:
        """The hash of the last entry: a chain with the same one is the same journal up to there."""
        return self._last.hash

    @property
    def is_empty(self) -> bool:
        """Whether nothing has been written yet."""
        return self._last == chain.START

    @property
    def last_at(self) -> datetime | None:
        """When the last entry was written, in UTC; None where nothing has been."""
        return chain.last_at(self._last)

    def rows(self) -> Iterator[chain.Row]:
        """Read every row as it is kept. Raises JobError, naming the entry, for one that is not as it was written."""
        for row, fault in self._walk():
            if fault is not None:
                raise self._fault(fault)
            yield row

    def restore(self, rows: Sequence[chain.Row]) -> None:
        """Take rows that were read from another journal into this empty one, as they are.

        Raises JobError where this one is not empty or they do not follow one another.
        """
        if not self.is_empty:
            raise JobError("there are entries in this journal", where=str(self.path), do="take an empty one")
        if rows:
            with _explained(self.path), self._transaction():
                self._connection.executemany(_INSERT, rows)
            self._last = rows[-1]

    def _fault(self, entry: int) -> JobError:
        what = f"entry {entry} of the journal is missing, altered or unreadable"
        return JobError(what, where=str(self.path), do=chain.DAMAGED)

    def verify(self) -> int | None:
        """Walk the chain; give the number of the first entry that is not as it was written, if one is."""
        return next((fault for _, fault in self._walk() if fault is not None), None)

    def close(self) -> None:
        """Close the file; what was appended is on disk already."""
        self._connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _prepare(self, *, read_only: bool) -> None:
        with _explained(self.path):
            _check_format(self._connection, self.path)
            self._connection.execute("PRAGMA synchronous = FULL")
            # On macOS a plain flush may stop at the disk's own cache.
            self._connection.execute("PRAGMA fullfsync = ON")
            # Not opened as read-only, because reading may have to take in the log of a killed program.
            self._connection.execute(f"PRAGMA query_only = {read_only:d}")
            self._last = self._read_last()

    def _read_last(self) -> chain.Row:
        row = self._connection.execute(_LAST).fetchone()
        return chain.Row(*row) if row else chain.START

    def _walk(self) -> Iterator[tuple[chain.Row, int | None]]:
        """Stream the rows, and beside each the entry at fault, if one is.

        What SQLite cannot read, and what was there when the journal was opened but is no longer, is
        at fault too: it must not pass for the end.
        """
        last = chain.START
        try:
            for row, fault in chain.broken(map(chain.Row._make, self._connection.execute(_READ))):
                last = row
                yield row, fault
        except sqlite3.ProgrammingError:
            raise
        except sqlite3.DatabaseError:
            yield last, last.seq + 1
        if last.seq < self._last.seq:
            yield last, last.seq + 1

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        self._connection.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._connection.execute("COMMIT")
        except BaseException:
            # Some failures have rolled back by themselves.
            if self._connection.in_transaction:
                self._connection.execute("ROLLBACK")
            raise


def _connect(path: Path, *, mode: str) -> sqlite3.Connection:
    # Transactions are begun and ended by hand.
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode={mode}", uri=True, isolation_level=None)


def _check_format(connection: sqlite3.Connection, path: Path) -> None:
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if application != _APPLICATION:
        what, do = _NOT_OURS
        raise JobError(what, where=str(path), do=do)
    if version > FORMAT:
        what = f"made by a newer callout (format {version}, this one reads {FORMAT})"
        raise JobError(what, where=str(path), do=chain.NEWER)


@contextmanager
def _explained(path: Path) -> Iterator[None]:
    """Turn what SQLite reports into one line that says what to do."""
    try:
        yield
    except sqlite3.ProgrammingError:
        raise
    except sqlite3.Error as error:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        what, do = _TROUBLES.get(code, (f"the journal failed ({error}); {_KEPT}", ""))
        raise JobError(what, where=str(path), do=do) from error
