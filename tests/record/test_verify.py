import sqlite3
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.errors import RecordError
from assistant.job.events import JobOpened, Replied
from assistant.job.exchange import job_of, lines_of, started_hash
from assistant.job.folder import JobFolder
from assistant.record.verify import findings
from assistant.record.write import write_record
from tests.record.sample import BEGAN, PROCEDURE, png, write_job


@pytest.fixture
def job(tmp_path: Path) -> Iterator[JobFolder]:
    """Give the made-up job with all that lies beside it."""
    with JobFolder.create(tmp_path / "jobs", "job", PROCEDURE.read_text(encoding="utf-8")) as folder:
        write_job(folder.journal, settled=True)
        for name in ("note-0001.flac", "note-0002.flac"):
            soundfile.write(folder.sound / name, np.zeros(1600), 16_000, format="FLAC")
        folder.pictures.mkdir()
        (folder.pictures / "picture-0001.jpg").write_bytes(png())
        yield folder


def test_a_whole_job(job: JobFolder) -> None:
    """A whole journal is told with its length and its last hash."""
    found = findings(job, None)
    count = len(list(job.journal.entries()))
    assert found.clean
    assert found.lines == (
        f"The journal is whole: {count} entries, the last with the hash {job.journal.seal}.",
    )


def test_the_record_of_this_journal(job: JobFolder, tmp_path: Path) -> None:
    """A record of this journal is told as such, also when work went on since."""
    write_record(job, tmp_path / "out")
    found = findings(job, tmp_path / "out")
    assert found.clean
    assert found.lines[1].startswith("The record is of this journal, made at entry")
    last = list(job.journal.entries())[-1]
    job.journal.append(last.turn + 1, last.at, (Replied(words="More."),))
    assert findings(job, tmp_path / "out" / "record.json").lines[1].endswith(", 1 before its end.")


def test_the_record_of_an_older_program(job: JobFolder, tmp_path: Path) -> None:
    """A record in which a position that nobody has worked on is still called empty is read and held against it."""
    write_record(job, tmp_path / "out")
    path = tmp_path / "out" / "record.json"
    text = path.read_text(encoding="utf-8")
    older = text.replace('"standing": "final"', '"standing": "empty"')
    assert older != text
    path.write_text(older, encoding="utf-8")
    assert findings(job, path).clean


@pytest.mark.parametrize("one_file", [False, True])
def test_a_record_that_was_altered(job: JobFolder, tmp_path: Path, *, one_file: bool) -> None:
    """Page, print and table that say something else than the journal are named, also with the sound in the page."""
    places = ("record.html", "record.pdf", "tables/notes.csv")
    write_record(job, tmp_path, one_file=one_file)
    assert findings(job, tmp_path).clean
    for place in places:
        (tmp_path / place).write_bytes((tmp_path / place).read_bytes() + b" ")
    found = findings(job, tmp_path)
    assert not found.clean
    assert found.lines[-3:] == tuple(f"{place} is NOT what this journal gives." for place in places)


def test_a_table_of_numbers_that_was_altered(job: JobFolder, tmp_path: Path) -> None:
    """Where record.json itself is not what this program makes, that is said, and nothing is called altered."""
    write_record(job, tmp_path)
    path = tmp_path / "record.json"
    path.write_bytes(path.read_bytes() + b" ")
    found = findings(job, tmp_path)
    assert found.clean
    assert "it was altered, or another version wrote it" in found.lines[-1]


def test_a_journal_that_was_cut_after_its_record(job: JobFolder, tmp_path: Path) -> None:
    """A record that knows of more entries than the journal has says so."""
    write_record(job, tmp_path)
    last = len(list(job.journal.entries()))
    with sqlite3.connect(job.path / "journal.sqlite") as connection:
        connection.execute("DROP TRIGGER no_delete")
        connection.execute("DELETE FROM entries WHERE seq > 5")
    connection.close()
    with JobFolder.open(tmp_path / "jobs", "job", hold=False) as cut:
        found = findings(cut, tmp_path)
    assert f"NOT of this journal: it was made at entry {last}, and the journal ends at 5." in found.lines[-1]


def test_the_record_of_another(job: JobFolder, tmp_path: Path) -> None:
    """A record of another job is told apart."""
    with JobFolder.create(tmp_path / "jobs", "other", PROCEDURE.read_text(encoding="utf-8")) as other:
        write_job(other.journal)
        write_record(other, tmp_path / "out")
    found = findings(job, tmp_path / "out")
    assert not found.clean
    assert "The record is NOT of this journal." in found.lines


def test_sound_that_cannot_be_read_is_named(job: JobFolder) -> None:
    """A note's file that is there but is no sound any more is not taken for whole."""
    (job.sound / "note-0001.flac").write_bytes(b"no sound")
    found = findings(job, None)
    assert not found.clean
    assert "The sound of note 1 (note-0001.flac) can NOT be read." in found.lines


def test_lost_and_altered_files(job: JobFolder, tmp_path: Path) -> None:
    """Sound that is lost, and a picture that was changed since the record was made, are named."""
    write_record(job, tmp_path / "out")
    (job.sound / "note-0002.flac").unlink()
    (job.pictures / "picture-0001.jpg").write_bytes(b"another")
    found = findings(job, tmp_path / "out")
    assert not found.clean
    assert found.lines[-2:] == (
        "The sound of note 2 (note-0002.flac) is MISSING.",
        "Picture 1 (picture-0001.jpg) is NOT what it was when the record was made.",
    )


@pytest.mark.parametrize("file", ["procedure.yaml", "shop.yaml"])
def test_a_procedure_or_tools_that_were_exchanged(tmp_path: Path, file: str) -> None:
    """The values that a job was worked by lie beside its journal and are sealed in it; an import keeps them."""
    with JobFolder.create(
        tmp_path, "sealed", PROCEDURE.read_text(encoding="utf-8"), "wrenches: []\n"
    ) as folder:
        opened = JobOpened(job="sealed", procedure="p", revision=1, started_hash=started_hash(folder))
        folder.journal.append(1, BEGAN, (opened,))
        assert findings(folder, None).clean
        lines = "".join(lines_of(folder)).split("\n")
        (folder.path / file).write_text("wrenches: [] # another\n", encoding="utf-8")
        found = findings(folder, None)
    assert not found.clean
    assert "NOT what the job began with" in found.lines[-1]
    with job_of(lines, tmp_path, name="copy", where="lines") as copy:
        assert findings(copy, None).clean


def test_an_altered_journal(job: JobFolder) -> None:
    """An entry that was altered behind the program's back is named."""
    with sqlite3.connect(job.path / "journal.sqlite") as connection:
        connection.execute("DROP TRIGGER no_update")
        connection.execute("UPDATE entries SET body = replace(body, 'Jo', 'Al') WHERE seq = 1")
    connection.close()
    found = findings(job, None)
    assert not found.clean
    assert found.lines == ("The journal is NOT whole: entry 1 is missing, altered or unreadable.",)


@pytest.mark.parametrize("content", [None, "{}"])
def test_no_record(job: JobFolder, tmp_path: Path, content: str | None) -> None:
    """A folder without a record, or with something else in its place, is an error with its place."""
    if content is not None:
        (tmp_path / "record.json").write_text(content)
    with pytest.raises(RecordError, match=r"record\.json"):
        findings(job, tmp_path)
