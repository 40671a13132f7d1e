"""From what was asked for to a job that is open."""

import io
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from assistant.errors import AssistantError, JobError, ProcedureError
from assistant.job.folder import list_jobs
from assistant.job.shelf import summaries
from assistant.work.opening import open_job
from assistant.work.session import Doors, work_job
from tests.record.sample import PROCEDURE

TODAY = datetime(2031, 3, 4, tzinfo=UTC)


def test_a_start_that_was_killed_before_its_first_entry_leaves_no_trace(tmp_path: Path) -> None:
    """It is no job in the list, and whoever starts again gets the job under the name that it would have had."""
    names = []
    for _ in range(2):
        _, folder = open_job(str(PROCEDURE), tmp_path, new=None, route="", today=TODAY)
        names.append(folder.name)
        folder.close()
        assert summaries(tmp_path) == ()
    assert names[0] == names[1]
    assert len(list(tmp_path.iterdir())) == 1
    _, folder = open_job(str(PROCEDURE), tmp_path, new=names[0], route="", today=TODAY)
    folder.close()


SHIPPED = "trailer-hub"
Work = Callable[..., str]


@pytest.fixture
def work(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Work:
    """Give a bench: what is typed into a job that is asked for, to what is told on standard error."""

    def worked(
        *lines: str, named: str = SHIPPED, new: str | None = None, job: str | None = None, route: str = ""
    ) -> str:
        typed, out = io.StringIO("\n".join((*lines, ""))), io.StringIO()
        doors = Doors(hear="text", speak="none")
        work_job(named, tmp_path, doors, new=new, job=job, route=route, typed=typed, out=out)
        return capsys.readouterr().err

    return worked


def entries(jobs_dir: Path, *names: str) -> list[bool]:
    """Tell of each job whether it is further than it was begun."""
    return [each.steps_done > 0 for name in names for each in summaries(jobs_dir) if each.name == name]


def test_of_several_open_jobs_the_one_that_is_named_is_taken_up(work: Work, tmp_path: Path) -> None:
    """On its own route; the latest is taken where none is named, which is told with how to choose."""
    for name in ("one", "two"):
        assert work("yes", new=name, route="short") == ""
    assert work("yes", "done", job="one") == ""
    assert entries(tmp_path, "one", "two") == [True, False]
    told = work("where am i", route="short")
    assert "one is taken up" in told
    assert "--job with 'two'" in told
    assert {each.route for each in summaries(tmp_path)} == {"short"}


@pytest.mark.parametrize(("begun", "asked", "way"), [("short", "", "route short"), ("", "short", "full way")])
def test_a_job_that_is_open_on_another_route_is_told(work: Work, begun: str, asked: str, way: str) -> None:
    """A new one is begun beside it, with how to go on with the other; once both are there nothing is told."""
    work("yes", new="one", route=begun)
    told = work("yes", route=asked)
    assert f"one on the {way} is open" in told
    assert "--job 'one'" in told
    assert work("yes", route=asked) == ""


def test_a_job_that_cannot_be_taken_up_is_told(work: Work, tmp_path: Path) -> None:
    """It is not there, of another procedure, on another route, asked for as new, or finished; no job is made."""
    work("yes", new="one", route="short")
    for asked, told in (
        ({"job": "none such"}, "there is no job none such"),
        ({"job": "one", "named": str(PROCEDURE)}, "the job one is on another procedure"),
        ({"job": "one", "new": "two"}, "give --job or --new, not both"),
        ({"new": "one"}, "take it up with --job 'one'"),
    ):
        with pytest.raises(JobError, match=told):
            work("yes", **asked)
    work("yes", new="full")
    with pytest.raises(JobError, match="the job full is on the full way; leave out --route"):
        work("yes", job="full", route="short")
    assert list_jobs(tmp_path) == ("full", "one")


def test_a_finished_job_is_not_taken_up(work: Work) -> None:
    """Those that are open are named."""
    work("yes", new="other", route="short")
    work("yes", "yes", "finish", *["yes", "do it later"] * 40, "yes", "yes", new="one", route="short")
    with pytest.raises(JobError, match=r"the job one is finished; choose one that is open \('other'\)"):
        work("yes", job="one")


def test_the_name_of_a_job_is_no_procedure_but_gets_a_hint(work: Work) -> None:
    """It says how to take the job up."""
    work("yes", new="hum", route="short")
    with pytest.raises(ProcedureError, match="callout work PROCEDURE --job 'hum'"):
        work("yes", named="hum")
    with pytest.raises(AssistantError) as told:
        work("yes", named="ham")
    assert "--job" not in str(told.value)
