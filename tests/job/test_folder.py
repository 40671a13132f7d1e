"""A job as a folder: its files, its name, and who holds it."""

import errno
import multiprocessing
import os
from datetime import UTC, datetime
from pathlib import Path

import pytest

from assistant.errors import JobError
from assistant.job import folder as folder_module
from assistant.job.events import StepDone
from assistant.job.folder import JobFolder, list_jobs, slug

PROCEDURE = "title: größe\r\nsteps: []\n"
AT = datetime(2024, 5, 6, tzinfo=UTC)


def begin(jobs_dir: Path, name: str) -> None:
    """Make a job in which something has happened, and let go of it."""
    with JobFolder.create(jobs_dir, name, PROCEDURE) as job:
        job.journal.append(1, AT, [StepDone(step="x")])


def test_a_job_keeps_what_it_started_from(tmp_path: Path) -> None:
    """The procedure, the shop's tools and the name come back to the letter."""
    with JobFolder.create(tmp_path, "Set 1, left bank", PROCEDURE, "wrenches: []\n") as job:
        assert job.path == tmp_path / "set-1-left-bank"
        assert (job.path / "procedure.yaml").read_bytes() == PROCEDURE.encode()
    with JobFolder.open(tmp_path, "Set 1, left bank") as job:
        assert job.procedure_text == PROCEDURE
        assert job.shop_text == "wrenches: []\n"
        assert job.name == "Set 1, left bank"
        assert job.sound.is_dir()


def test_a_job_without_a_list_of_tools_has_none(tmp_path: Path) -> None:
    """No list given, none kept."""
    with JobFolder.create(tmp_path, "a", PROCEDURE) as job:
        assert job.shop_text is None


def test_the_journal_of_a_job_is_taken_up_again(tmp_path: Path) -> None:
    """What was appended is there after closing and opening."""
    with JobFolder.create(tmp_path / "not" / "there yet", "a", PROCEDURE) as job:
        job.journal.append(1, AT, [StepDone(step="x")])
    with JobFolder.open(tmp_path / "not" / "there yet", "a") as job:
        assert [entry.event for entry in job.journal.entries()] == [StepDone(step="x")]


@pytest.mark.parametrize(
    ("name", "made"),
    [
        ("Set 1", "set-1"),
        ("../../etc/passwd", "etc-passwd"),
        (".hidden.", "hidden"),
        ("a/b\\c:d*e?", "a-b-c-d-e"),
        ("Größe №2", "grösse-no2"),
        ("발전기 1", "발전기-1"),
        ("snake_case", "snake-case"),
        ("e\u0301", "é"),
    ],
)
def test_names_are_made_safe(name: str, made: str) -> None:
    """A folder's name has only small letters and digits of any script, and "-"."""
    assert slug(name) == made


@pytest.mark.parametrize("name", ["", " ", "../..", "x" * 61, "con", "LPT1"])
def test_names_that_cannot_be_used_are_refused(tmp_path: Path, name: str) -> None:
    """A name of nothing, too long a one, or a system's own is refused before anything is made."""
    with pytest.raises(JobError, match="name"):
        JobFolder.create(tmp_path / "jobs", name, PROCEDURE)
    assert list(tmp_path.iterdir()) == []


def test_the_longest_name_fits_the_file_system(tmp_path: Path) -> None:
    """As many letters as are allowed, of the longest kind, still make a folder."""
    begin(tmp_path, "\U00020000" * 60)
    assert len(list_jobs(tmp_path)) == 1


def test_a_name_is_taken_once(tmp_path: Path) -> None:
    """A second job of the same name, or one that only looks different, is refused; the first stays."""
    begin(tmp_path, "Set 1")
    with pytest.raises(JobError, match="already a job Set 1"):
        JobFolder.create(tmp_path, "set-1", "other")
    with JobFolder.open(tmp_path, "Set 1") as job:
        assert job.procedure_text == PROCEDURE


def test_a_folder_in_which_nothing_has_happened_is_no_job(tmp_path: Path) -> None:
    """What a program leaves that is killed before its first entry is not listed, and a new job is made in it."""
    JobFolder.create(tmp_path, "set-1", "other", "wrenches: []\n").close()
    assert list_jobs(tmp_path) == ()
    begin(tmp_path, "Set 1")
    assert list_jobs(tmp_path) == ("Set 1",)
    with JobFolder.open(tmp_path, "set-1") as job:
        assert (job.name, job.procedure_text, job.shop_text) == ("Set 1", PROCEDURE, None)
        assert len(list(job.journal.entries())) == 1


def test_a_job_that_is_just_being_begun_is_refused(tmp_path: Path) -> None:
    """Before its first entry its program holds it, and it stays as that one made it."""
    with JobFolder.create(tmp_path, "a", PROCEDURE):
        with pytest.raises(JobError, match="the job a is in use"):
            JobFolder.create(tmp_path, "a", "other")
        assert (tmp_path / "a" / "procedure.yaml").read_bytes() == PROCEDURE.encode()


def test_a_folder_that_is_not_ours_is_left_alone(tmp_path: Path) -> None:
    """A folder without a journal, or with one that cannot be read, is never written into."""
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    (tmp_path / "b" / "journal.sqlite").write_bytes(b"not a journal" * 100)
    for name in ("a", "b"):
        with pytest.raises(JobError, match=f"already a job {name}"):
            JobFolder.create(tmp_path, name, PROCEDURE)
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["a", "b", "journal.sqlite"]


def test_one_who_loses_the_race_for_a_name_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where another program makes the job meanwhile, that one stays whole and no draft is left."""
    filled = folder_module._fill

    def overtaken(draft: Path, files: dict[str, str]) -> None:
        filled(draft, files)
        monkeypatch.undo()
        JobFolder.create(tmp_path, "a", "theirs").close()

    monkeypatch.setattr(folder_module, "_fill", overtaken)
    with pytest.raises(JobError, match="already a job a"):
        JobFolder.create(tmp_path, "a", "mine")
    assert [path.name for path in tmp_path.iterdir()] == ["a"]
    with JobFolder.open(tmp_path, "a") as job:
        assert job.procedure_text == "theirs"


def test_jobs_are_listed_by_the_names_they_were_given(tmp_path: Path) -> None:
    """The list has the names, and nothing that is not a job."""
    for name in ("Zweite", "Erste!"):
        begin(tmp_path, name)
    (tmp_path / "other").mkdir()
    (tmp_path / "file").write_text("")
    assert list_jobs(tmp_path) == ("Erste!", "Zweite")
    assert list_jobs(tmp_path / "nowhere") == ()


def test_a_job_that_is_not_there_is_refused_with_those_that_are(tmp_path: Path) -> None:
    """The error names the jobs to choose from."""
    begin(tmp_path, "Set 1")
    with pytest.raises(JobError, match=r"no job Set 2; choose one that is there \(Set 1\)"):
        JobFolder.open(tmp_path, "Set 2")


def test_a_second_holder_is_refused_with_the_first_ones_number(tmp_path: Path) -> None:
    """The error names the job and the process that holds it; closing lets go."""
    with JobFolder.create(tmp_path, "Set 1", PROCEDURE):
        with pytest.raises(JobError, match=f"the job Set 1 is in use by process {os.getpid()};"):
            JobFolder.open(tmp_path, "Set 1")
        with pytest.raises(JobError, match="in use"):
            JobFolder.open(tmp_path, "set 1")
    JobFolder.open(tmp_path, "Set 1").close()


def test_a_held_job_can_be_read(tmp_path: Path) -> None:
    """A reader gets the entries while another works, and cannot add to them."""
    with JobFolder.create(tmp_path, "a", PROCEDURE) as job:
        job.journal.append(1, AT, [StepDone(step="x")])
        with JobFolder.open(tmp_path, "a", hold=False) as reader:
            assert len(list(reader.journal.entries())) == 1
            with pytest.raises(JobError):
                reader.journal.append(2, AT, [StepDone(step="y")])


def test_a_job_that_does_not_open_is_not_held(tmp_path: Path) -> None:
    """After a failed opening another program may try."""
    JobFolder.create(tmp_path, "a", PROCEDURE).close()
    journal = tmp_path / "a" / "journal.sqlite"
    journal.rename(tmp_path / "away")
    for _ in range(2):
        with pytest.raises(JobError, match="no journal here"):
            JobFolder.open(tmp_path, "a")
    (tmp_path / "away").rename(journal)
    JobFolder.open(tmp_path, "a").close()


def test_a_full_disk_leaves_no_half_made_job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there is no room for a new job the error says so, and nothing is listed or left."""

    def no_room(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", no_room)
    with pytest.raises(JobError, match="the disk is full; nothing of what was recorded is lost"):
        JobFolder.create(tmp_path, "a", PROCEDURE)
    assert list(tmp_path.iterdir()) == []


def test_a_procedure_that_was_removed_is_an_error(tmp_path: Path) -> None:
    """A job whose files are gone says which."""
    with JobFolder.create(tmp_path, "a", PROCEDURE) as job:
        (job.path / "procedure.yaml").unlink()
        with pytest.raises(JobError, match=r"procedure\.yaml"):
            _ = job.procedure_text


def make_and_stop(jobs_dir: Path, stop_at: str) -> None:
    """Start a job and let the process end, without clearing up, at one of the places on the way."""

    def stop(*_: object) -> None:
        os._exit(0)

    setattr(folder_module, {"files": "_sync_folder", "rename": "_rename"}[stop_at], stop)
    JobFolder.create(jobs_dir, "a", PROCEDURE)


@pytest.mark.parametrize("stop_at", ["files", "rename"])
def test_a_program_that_dies_while_making_a_job_leaves_none(tmp_path: Path, stop_at: str) -> None:
    """What is half made is not listed and does not stand in the way of making it again."""
    process = multiprocessing.get_context("spawn").Process(target=make_and_stop, args=(tmp_path, stop_at))
    process.start()
    process.join()
    assert list(tmp_path.glob(".new-*"))
    assert list_jobs(tmp_path) == ()
    begin(tmp_path, "a")
    assert list_jobs(tmp_path) == ("a",)
