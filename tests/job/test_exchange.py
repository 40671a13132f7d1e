import json
from pathlib import Path

import pytest

from assistant.errors import JobError
from assistant.job.exchange import job_of, lines_of
from assistant.job.folder import JobFolder, list_jobs
from assistant.job.memory import MemoryStore
from tests.record.sample import PROCEDURE, write_job

TEXT = PROCEDURE.read_text(encoding="utf-8")


@pytest.fixture
def lines(tmp_path: Path) -> list[str]:
    """Give the made-up job as exported lines."""
    with JobFolder.create(tmp_path / "jobs", "Generator at the mill", TEXT, "wrenches: []\n") as folder:
        write_job(folder.journal)
        return list(lines_of(folder))


def test_out_and_back_is_the_same_journal(tmp_path: Path, lines: list[str]) -> None:
    """A job made of the lines has the same entries, hashes, procedure and tools, and can be gone on with."""
    with job_of(lines, tmp_path / "other", name=None, where="job.jsonl") as back:
        with JobFolder.open(tmp_path / "jobs", "Generator at the mill") as first:
            assert back.name == first.name
            assert list(back.journal.rows()) == list(first.journal.rows())
            assert list(back.journal.entries()) == list(first.journal.entries())
            assert (back.procedure_text, back.shop_text) == (first.procedure_text, first.shop_text)
        assert back.journal.verify() is None
        assert list(lines_of(back)) == lines
        last = list(back.journal.entries())[-1]
        back.journal.append(last.turn + 1, last.at, (last.event,))
        assert back.journal.verify() is None


def test_another_name(tmp_path: Path, lines: list[str]) -> None:
    """A job can come back under another name beside the first."""
    job_of(lines, tmp_path / "jobs", name="copy", where="job.jsonl").close()
    assert list_jobs(tmp_path / "jobs") == ("Generator at the mill", "copy")


def test_an_empty_journal(tmp_path: Path) -> None:
    """A job in which nothing happened yet goes out and comes back too."""
    with JobFolder.create(tmp_path, "empty", TEXT) as folder:
        lines = list(lines_of(folder))
    with job_of(lines, tmp_path, name="back", where="job.jsonl") as back:
        assert list(back.journal.entries()) == []
        assert back.shop_text is None


def _altered(lines: list[str]) -> list[str]:
    row = json.loads(lines[7])
    return [*lines[:7], json.dumps({**row, "body": row["body"].replace("e", "3", 1)}) + "\n", *lines[8:]]


def _of_a_kind_unknown(lines: list[str]) -> list[str]:
    return [lines[0].replace("callout-journal", "other-journal"), *lines[1:]]


@pytest.mark.parametrize(
    ("damage", "match"),
    [
        (_altered, "entry 7 is missing or altered"),
        (lambda lines: [*lines[:5], *lines[6:]], "entry 5 is missing or altered"),
        (lambda lines: [*lines[:5], "{\n", *lines[5:]], "line 6: this is not a line of JSON"),
        (lambda lines: [*lines[:5], '{"seq": 5}\n', *lines[5:]], "line 6: this is not an entry"),
        (lambda lines: [*lines[:5], "[]\n", *lines[5:]], "line 6: this is not an entry"),
        (_of_a_kind_unknown, "not an exported journal"),
        (lambda lines: lines[1:], "not an exported journal"),
        (lambda _lines: [], "line 1: this is not a line of JSON"),
    ],
)
def test_damaged_lines_are_refused(tmp_path: Path, lines: list[str], damage: object, match: str) -> None:
    """What is altered, missing or something else is told with its place, and nothing is made of it."""
    assert callable(damage)
    with pytest.raises(JobError, match=match):
        job_of(damage(lines), tmp_path / "other", name=None, where="job.jsonl")
    assert list_jobs(tmp_path / "other") == ()


def test_a_job_that_is_there_is_not_written_over(tmp_path: Path, lines: list[str]) -> None:
    """A job of the same name is left as it is."""
    with pytest.raises(JobError, match="already a job"):
        job_of(lines, tmp_path / "jobs", name=None, where="job.jsonl")


def test_rows_go_only_into_an_empty_journal(tmp_path: Path) -> None:
    """A journal that has entries takes no rows from another."""
    with JobFolder.create(tmp_path, "job", TEXT) as folder:
        write_job(folder.journal)
        rows = list(folder.journal.rows())
        with pytest.raises(JobError, match="there are entries"):
            folder.journal.restore(rows)
        assert list(folder.journal.rows()) == rows


def test_the_sample_is_the_same_in_memory(tmp_path: Path, lines: list[str]) -> None:
    """What came back reads as what was written in the first place."""
    store = MemoryStore()
    write_job(store)
    with job_of(lines, tmp_path / "other", name=None, where="job.jsonl") as back:
        assert list(back.journal.entries()) == list(store.entries())
