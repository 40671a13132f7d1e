"""A newer revision of a procedure, offered to a job that was begun on an older one."""

import io
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.job.events import RevisionAnswered, Undone
from assistant.job.fold import replay
from assistant.job.folder import JobFolder
from assistant.work.session import Doors, work_job

OLD = """\
procedure: A small press
revision: 1
about: Invented, not for any real machine.
cautions: Lock it.
groups:
  cap screws: {count: 2, stages: [snug, {torque: 8 N.m}]}
steps:
  - {step: look, say: Look at it.}
  - {step: cap, say: Fit the cap., tighten: cap screws}
  - {step: leaks, say: Look for leaks., check: {ask: Is it dry?, if_not: Find the leak.}}
"""
NEW = OLD.replace("revision: 1", "revision: 2").replace("Look at it.", "Look at it from both sides.")
JOB = "press"

Work = Callable[..., str]


@pytest.fixture
def work(tmp_path: Path) -> Work:
    """Give a bench: a procedure's text and what is typed, to what is said."""

    def worked(text: str, *lines: str) -> str:
        file, out = tmp_path / "press.yaml", io.StringIO()
        file.write_text(text, encoding="utf-8")
        new = None if (tmp_path / "jobs").exists() else JOB
        typed = io.StringIO("\n".join((*lines, "")))
        work_job(
            str(file),
            tmp_path / "jobs",
            Doors(hear="text", speak="none"),
            new=new,
            route="",
            typed=typed,
            out=out,
        )
        return " ".join(out.getvalue().split())

    return worked


def _folder(tmp_path: Path) -> JobFolder:
    return JobFolder.open(tmp_path / "jobs", JOB, hold=False)


def test_a_newer_revision_is_asked_about_and_taken_on_a_yes(work: Work, tmp_path: Path) -> None:
    """The new text is the job's, what is done and reads otherwise is told, and the old text lies where it was."""
    work(OLD, "yes", "done")
    said = work(NEW, "yes")
    assert "There is a newer revision of this procedure, two." in said
    assert "This job goes on with revision two. Step one, which is done, reads otherwise now." in said
    with _folder(tmp_path) as folder:
        assert (folder.procedure_text, folder.started_text) == (NEW, OLD)
        assert "from both sides" not in said
    assert "newer revision" not in work(NEW, "where am i")


def test_a_no_keeps_the_old_text_and_is_not_asked_again(work: Work, tmp_path: Path) -> None:
    """The job goes on as it was begun; only a newer revision still is offered."""
    work(OLD, "yes", "done")
    assert "This job keeps revision one." in work(NEW, "no")
    assert "newer revision" not in work(NEW)
    with _folder(tmp_path) as folder:
        assert folder.procedure_text == OLD
    assert "newer revision of this procedure, three" in work(NEW.replace("revision: 2", "revision: 3"))


def test_a_job_that_nobody_began_hears_the_cautions_again(work: Work) -> None:
    """Taken up before the first yes, what "all that" is gets said again, in the words of the text that holds now."""
    work(OLD)
    assert "Back at the job: zero steps are done, three are left. Lock it. Say yes when all that" in work(OLD)
    newer = NEW.replace("cautions: Lock it.", "cautions: Lock it twice.")
    said = work(newer, "yes")
    assert "are left. There is a newer revision" in said
    assert "This job goes on with revision two. Lock it twice. Say yes when all that" in said


def test_a_no_before_the_beginning_says_the_old_cautions(work: Work) -> None:
    """Who keeps the old text is asked to see to what that one says."""
    work(OLD)
    said = work(NEW.replace("cautions: Lock it.", "cautions: Lock it twice."), "no")
    assert "This job keeps revision one. Lock it. Say yes when all that" in said


def test_a_step_that_is_done_is_called_by_its_number(work: Work) -> None:
    """After the answer, "it is done already" would leave open what is."""
    work(OLD, "yes", "done")
    assert "This job keeps revision one. Step one is done already." in work(NEW, "no")


def test_a_change_without_a_new_number_is_told_beside_the_job(
    work: Work, capsys: pytest.CaptureFixture[str]
) -> None:
    """Who forgot to count the revision up is told so, and the job goes on as it was begun."""
    work(OLD, "yes", "done")
    assert capsys.readouterr().err == ""
    assert "newer revision" not in work(NEW.replace("revision: 2", "revision: 1"))
    assert "Count revision: up" in capsys.readouterr().err


def test_the_answer_is_recorded(work: Work, tmp_path: Path) -> None:
    """The journal says which revision was taken, and with which text."""
    work(OLD, "yes", "done")
    work(NEW, "yes")
    with _folder(tmp_path) as folder:
        answered = [
            each.event for each in folder.journal.entries() if isinstance(each.event, RevisionAnswered)
        ]
    assert answered == [RevisionAnswered(revision=2, taken=True, text=NEW)]


GONE = [
    ("step: look", "step: watch", "step one was worked on, and is not so"),
    ("{torque: 8 N.m}", "{torque: 9 N.m}", "cap screws was worked on, and is not so"),
    ("{count: 2,", "{count: 3,", "cap screws was worked on, and is not so"),
]


@pytest.mark.parametrize(("old", "new", "why"), GONE, ids=[new for _, new, _ in GONE])
def test_what_was_worked_on_must_be_in_the_newer_text(
    work: Work, tmp_path: Path, old: str, new: str, why: str
) -> None:
    """A text without a step that is done, or with another plan for a group that is begun, is refused, saying which."""
    work(OLD, "yes", "done next", "number one done")
    said = work(NEW.replace(old, new), "where am i")
    assert f"Revision two cannot be taken: {why} in it." in said
    with _folder(tmp_path) as folder:
        assert folder.procedure_text == OLD


def test_what_was_not_touched_yet_may_change(work: Work) -> None:
    """Steps to come may be other ones, and a group that nobody has begun may have another torque."""
    work(OLD, "yes", "done")
    newer = NEW.replace("8 N.m", "9 N.m").replace("step: leaks", "step: drops")
    said = work(newer, "yes", "next", "number one done", "number two done", "torque")
    assert "nine newton metres" in said


def test_nothing_from_before_the_newer_text_is_taken_back(work: Work, tmp_path: Path) -> None:
    """Undo ends where the text changed, since what was said before was about another one."""
    work(OLD, "yes", "done")
    work(NEW, "yes", "undo")
    with _folder(tmp_path) as folder:
        entries = tuple(folder.journal.entries())
    assert not [each for each in entries if isinstance(each.event, Undone)]
    assert "look" in replay(entries).done
