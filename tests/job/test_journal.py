"""The journal as a file: what it refuses, what it notices, and how it fails."""

import json
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from assistant.errors import JobError
from assistant.job import chain
from assistant.job.events import Entry, Replied, StepDone
from assistant.job.journal import FORMAT, Journal

AT = datetime(2024, 5, 6, 7, 8, 9, tzinfo=UTC)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Give the path of a closed journal of four entries in two turns."""
    path = tmp_path / "journal.sqlite"
    with Journal.create(path) as journal:
        journal.append(1, AT, [StepDone(step="a"), Replied(words="A is done.")])
        journal.append(2, AT, [StepDone(step="b"), Replied(words="B is done.")])
    return path


def by_hand(path: Path, *statements: str, triggers: bool = True) -> None:
    """Change a journal as somebody with SQLite in hand can."""
    with closing(sqlite3.connect(path)) as connection:
        if not triggers:
            for name in ("no_update", "no_delete", "in_turn"):
                connection.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            connection.execute(statement)
        connection.commit()


def read(path: Path) -> list[Entry]:
    """Read all entries."""
    with Journal(path) as journal:
        return list(journal.entries())


def verified(path: Path) -> int | None:
    """Give what the walk along the chain finds."""
    with Journal(path) as journal:
        return journal.verify()


def raw_rows(path: Path) -> list[tuple[Any, ...]]:
    """Read the rows as SQLite has them."""
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute("SELECT * FROM entries ORDER BY seq").fetchall()


def test_it_tells_when_its_last_entry_was_written(tmp_path: Path) -> None:
    """None while it is empty; the time of the last entry then, also when it is opened again."""
    with Journal.create(tmp_path / "new.sqlite") as journal:
        assert journal.last_at is None
        journal.append(1, AT, [StepDone(step="a")])
        assert journal.last_at == AT
    with Journal(tmp_path / "new.sqlite") as journal:
        assert journal.last_at == AT


def test_a_journal_is_taken_up_where_it_stood(path: Path) -> None:
    """Entries appended after opening again follow the ones before."""
    with Journal(path) as journal:
        journal.append(3, AT, [StepDone(step="c")])
    assert [entry.seq for entry in read(path)] == [1, 2, 3, 4, 5]
    assert verified(path) is None


def test_a_row_is_canonical_and_its_hash_can_be_made_by_others(path: Path) -> None:
    """The body is JSON with sorted keys and no spaces; the hash is SHA-256 of the JSON list of the rest."""
    rows = raw_rows(path)
    first = rows[0]
    assert first[:6] == (1, 1, "2024-05-06T07:08:09.000000+00:00", "step-done", 1, '{"step":"a"}')
    assert rows[1][5] == '{"passing":false,"words":"A is done."}'
    previous = "0" * 64
    for row in rows:
        assert row[6] == previous
        previous = sha256(json.dumps(row[:7], separators=(",", ":")).encode()).hexdigest()
        assert row[7] == previous


def test_every_turn_is_flushed_to_the_disk(path: Path) -> None:
    """The connection asks for a full flush at every transaction."""
    with Journal(path) as journal:
        assert journal._connection.execute("PRAGMA synchronous").fetchone() == (2,)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entries SET body = '{}' WHERE seq = 2",
        "DELETE FROM entries WHERE seq = 4",
        "INSERT OR REPLACE INTO entries SELECT 2, turn, at, kind, 1, body, prev_hash, hash FROM entries",
        "INSERT INTO entries SELECT 6, turn, at, kind, 1, body, hash, '' FROM entries WHERE seq = 4",
        "INSERT INTO entries SELECT 5, turn, at, kind, 1, body, prev_hash, '' FROM entries WHERE seq = 4",
    ],
    ids=["change", "remove", "replace", "leave a gap", "follow another"],
)
def test_the_file_itself_refuses_all_but_appending(path: Path, statement: str) -> None:
    """Nobody changes, removes, replaces or misplaces an entry by plain SQL."""
    before = raw_rows(path)
    with pytest.raises(sqlite3.IntegrityError):
        by_hand(path, statement)
    assert raw_rows(path) == before


@pytest.mark.parametrize(
    ("statement", "seq"),
    [
        ('UPDATE entries SET body = \'{"step":"z"}\' WHERE seq = 3', 3),
        ("UPDATE entries SET at = '2024-05-06T07:08:10.000000+00:00' WHERE seq = 2", 2),
        ("UPDATE entries SET turn = 2 WHERE seq = 1", 1),
        ("UPDATE entries SET body = x'00' WHERE seq = 4", 4),
        ("UPDATE entries SET body = CAST(x'ff' AS TEXT) WHERE seq = 2", 2),
        ("UPDATE entries SET prev_hash = '' WHERE seq = 3", 3),
        ("DELETE FROM entries WHERE seq = 1", 1),
        ("DELETE FROM entries WHERE seq = 3", 3),
    ],
)
def test_a_change_behind_the_triggers_is_found(path: Path, statement: str, seq: int) -> None:
    """Verify names the first entry that is altered or missing, and reading stops there with an error."""
    by_hand(path, statement, triggers=False)
    assert verified(path) == seq
    with pytest.raises(JobError, match=f"entry {seq} "):
        read(path)


def test_entries_lost_while_it_is_open_are_not_the_end(path: Path) -> None:
    """An entry that was there at opening and no longer is, is an error."""
    with Journal(path) as journal:
        by_hand(path, "DELETE FROM entries WHERE seq = 4", triggers=False)
        assert journal.verify() == 4
        with pytest.raises(JobError, match="entry 4 "):
            list(journal.entries())


def rewrite_last(path: Path, **changes: Any) -> None:
    """Change the last entry and make its hash fit, as a newer or faulty program could have written it."""
    row = chain.Row._make(raw_rows(path)[-1])._replace(**changes)
    row = row._replace(hash=chain._hash(row[:-1]))
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DROP TRIGGER no_delete")
        connection.execute("DELETE FROM entries WHERE seq = ?", (row.seq,))
        connection.execute("INSERT INTO entries VALUES (?, ?, ?, ?, ?, ?, ?, ?)", row)
        connection.commit()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"kind": "lubricated"}, r"entry 4 is of the kind lubricated.*install the newer version"),
        ({"body": '{"words":'}, "entry 4 cannot be read"),
        ({"body": "[]"}, "entry 4 cannot be read"),
        ({"body": '{"said":"B"}'}, "entry 4, replied, cannot be read"),
        ({"at": "yesterday"}, "entry 4 cannot be read"),
    ],
)
def test_an_entry_that_cannot_be_understood_is_an_error(
    path: Path, changes: dict[str, str], words: str
) -> None:
    """An unknown kind or a body that does not fit stops the reading, naming file and entry."""
    rewrite_last(path, **changes)
    assert verified(path) is None
    with pytest.raises(JobError, match=words) as caught:
        read(path)
    assert caught.value.where == str(path)


def test_two_who_append_do_not_mix(path: Path) -> None:
    """Who was overtaken is told so, and nothing of that turn is kept."""
    with Journal(path) as mine, Journal(path) as theirs:
        theirs.append(3, AT, [StepDone(step="theirs")])
        with pytest.raises(JobError, match="another program has added"):
            mine.append(3, AT, [StepDone(step="mine"), Replied(words="Mine.")])
    assert len(read(path)) == 5
    assert verified(path) is None


def test_a_reader_sees_what_is_appended_meanwhile_and_cannot_append(path: Path) -> None:
    """Reading only: new entries are seen, writing is refused, the writer is not in the way."""
    with Journal(path) as writer, Journal(path, read_only=True) as reader:
        reading = reader.entries()
        next(reading)
        writer.append(3, AT, [StepDone(step="c")])
        assert [entry.seq for entry in reading] == [2, 3, 4]
        assert len(list(reader.entries())) == 5
        with pytest.raises(JobError, match="only be read"):
            reader.append(4, AT, [StepDone(step="d")])


def test_a_newer_journal_is_refused_in_one_line(path: Path) -> None:
    """The line says which format the file has, which one is read, and what to do."""
    by_hand(path, f"PRAGMA user_version = {FORMAT + 2}")
    with pytest.raises(JobError) as caught:
        Journal(path)
    made = (
        f"made by a newer callout (format {FORMAT + 2}, this one reads {FORMAT}); install the newer version"
    )
    assert str(caught.value) == f"{path}: {made}"


@pytest.mark.parametrize("content", [b"", b"seq,turn\n1,1\n" * 100], ids=["empty", "text"])
def test_a_file_that_is_no_journal_is_refused(tmp_path: Path, content: bytes) -> None:
    """Another file is not taken for a journal, and is left as it is."""
    path = tmp_path / "journal.sqlite"
    path.write_bytes(content)
    with pytest.raises(JobError, match="not a journal"):
        Journal(path)
    assert path.read_bytes() == content


def test_another_database_is_refused(tmp_path: Path) -> None:
    """A database of something else is not taken for a journal."""
    path = tmp_path / "journal.sqlite"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE entries (seq)")
    with pytest.raises(JobError, match="not a journal"):
        Journal(path)


def test_a_missing_journal_is_refused_and_not_made(tmp_path: Path) -> None:
    """Opening never makes a file."""
    with pytest.raises(JobError, match="no journal here"):
        Journal(tmp_path / "journal.sqlite")
    assert list(tmp_path.iterdir()) == []


def test_a_journal_is_never_made_over_another(path: Path) -> None:
    """Making one where one is, is refused."""
    with pytest.raises(JobError, match="already"):
        Journal.create(path)
    assert len(read(path)) == 4


def test_a_path_with_odd_letters_works(tmp_path: Path) -> None:
    """Letters that mean something in an address are plain letters in a path."""
    path = tmp_path / "50% #1? größe & so.sqlite"
    Journal.create(path).close()
    assert path.is_file()
    assert read(path) == []


def test_a_damaged_page_is_an_error(path: Path) -> None:
    """A file that the disk spoilt gives an error or a broken entry, never a shorter journal."""
    with Journal(path) as journal:
        for turn in range(3, 203):
            journal.append(turn, AT, [Replied(words="x" * 100)])
    size = path.stat().st_size
    with path.open("r+b") as file:
        file.seek(size // 4096 // 2 * 4096)
        file.write(os.urandom(4096))
    with pytest.raises(JobError):
        read(path)


@pytest.fixture
def full(path: Path) -> Iterator[Journal]:
    """Give a journal whose file cannot grow."""
    with Journal(path) as journal:
        (pages,) = journal._connection.execute("PRAGMA page_count").fetchone()
        journal._connection.execute(f"PRAGMA max_page_count = {pages}")
        yield journal


def test_a_full_disk_loses_nothing(full: Journal) -> None:
    """Where there is no room the turn is refused whole, in one line, and the journal goes on afterwards."""
    with pytest.raises(JobError, match=r"the disk is full; nothing of what was recorded is lost; free some"):
        full.append(3, AT, [StepDone(step="c"), Replied(words="x" * 100_000)])
    assert len(list(full.entries())) == 4
    full._connection.execute("PRAGMA max_page_count = 1000000")
    full.append(3, AT, [StepDone(step="c"), Replied(words="x" * 100_000)])
    assert [entry.seq for entry in full.entries()] == [1, 2, 3, 4, 5, 6]
    assert full.verify() is None
