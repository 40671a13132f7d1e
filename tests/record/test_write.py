import errno
import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.errors import RecordError
from assistant.job.folder import JobFolder
from assistant.record.model import Record
from assistant.record.write import write_record
from tests.record.sample import BEGAN, PROCEDURE, write_job

TABLES = [
    "open-items",
    "departures",
    "notes",
    "pictures",
    "fasteners",
    "measurements",
    "steps",
    "parts",
    "in-and-out",
    "came-off",
    "wrenches",
    "waits",
    "time-line",
]


@pytest.fixture
def job(tmp_path: Path) -> Iterator[JobFolder]:
    """Give the made-up job on disk, with the sound of its first note."""
    text = PROCEDURE.read_text(encoding="utf-8")
    with JobFolder.create(tmp_path / "jobs", "Generator at the mill", text) as folder:
        write_job(folder.journal)
        soundfile.write(folder.sound / "note-0001.flac", np.zeros(1600), 16_000, format="FLAC")
        yield folder


def _bytes(paths: tuple[Path, ...]) -> list[bytes]:
    return [path.read_bytes() for path in paths]


def test_files_of_a_record(job: JobFolder, tmp_path: Path) -> None:
    """A record is a page, its JSON, and the sound of the notes; nothing else is left behind."""
    out = tmp_path / "some" / "record"
    written = write_record(job, out)
    assert [str(path.relative_to(out)) for path in written] == [
        "record.html",
        "record.pdf",
        "record.json",
        *(str(Path("tables", f"{name}.csv")) for name in TABLES),
        str(Path("sound", "note-0001.flac")),
    ]
    assert sorted(path for path in out.rglob("*") if path.is_file()) == sorted(written)


def test_json_is_the_record(job: JobFolder, tmp_path: Path) -> None:
    """The JSON file reads back as a record, and says which notes have their sound."""
    _, _, path, *_ = write_record(job, tmp_path / "out")
    record = Record.model_validate_json(path.read_bytes())
    assert [note.present for note in record.notes] == [True, False]
    assert json.loads(path.read_bytes())["format"] == 2
    assert record.head.began == BEGAN


def test_same_folder_same_bytes(job: JobFolder, tmp_path: Path) -> None:
    """The same folder gives the same bytes, wherever they go, and over an older record too."""
    first = _bytes(write_record(job, tmp_path / "one"))
    assert _bytes(write_record(job, tmp_path / "two")) == first
    assert _bytes(write_record(job, tmp_path / "one")) == first


def test_record_says_nothing_of_this_machine(job: JobFolder, tmp_path: Path) -> None:
    """No path of this machine stands in the record."""
    for content in _bytes(write_record(job, tmp_path / "out")):
        assert str(tmp_path).encode() not in content


def test_sound_is_copied_whole(job: JobFolder, tmp_path: Path) -> None:
    """The sound beside the page is the note's, to the byte."""
    *_, sound = write_record(job, tmp_path / "out")
    assert sound.read_bytes() == (job.sound / "note-0001.flac").read_bytes()


def test_record_into_the_job_itself(job: JobFolder) -> None:
    """A record may be written into the job's own folder, and its sound stays as it is."""
    before = (job.sound / "note-0001.flac").read_bytes()
    write_record(job, job.path)
    assert (job.sound / "note-0001.flac").read_bytes() == before


def test_a_file_in_the_way(job: JobFolder, tmp_path: Path) -> None:
    """An out folder that cannot be made is told of in one line that names it."""
    (tmp_path / "out").write_text("in the way")
    with pytest.raises(RecordError) as caught:
        write_record(job, tmp_path / "out")
    assert str(tmp_path / "out") in str(caught.value)
    assert "\n" not in str(caught.value)


def test_full_disk_keeps_the_older_record(
    job: JobFolder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk that fills up in the middle leaves the older record whole, and no drafts."""
    out = tmp_path / "out"
    before = {path: path.read_bytes() for path in write_record(job, out)}

    def full(path: Path, content: bytes) -> int:
        with path.open("wb") as file:
            file.write(content[:10])
        raise OSError(errno.ENOSPC, "No space left on device", str(path))

    (job.sound / "note-0001.flac").write_bytes(b"not the same")
    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(RecordError, match=r"the disk is full.*free some space"):
        write_record(job, out)
    monkeypatch.undo()
    assert {path: path.read_bytes() for path in out.rglob("*") if path.is_file()} == before


def test_empty_job(tmp_path: Path) -> None:
    """A job in which nothing happened yet has no record, and nothing is written."""
    text = PROCEDURE.read_text(encoding="utf-8")
    with (
        JobFolder.create(tmp_path / "jobs", "empty", text) as folder,
        pytest.raises(RecordError, match="nothing is recorded"),
    ):
        write_record(folder, tmp_path / "out")
    assert not (tmp_path / "out").exists()
