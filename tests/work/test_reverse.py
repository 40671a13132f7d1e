from pathlib import Path

import pytest
from typer.testing import CliRunner

from assistant.cli import app
from assistant.errors import JobError
from assistant.job.folder import JobFolder
from assistant.procedure.load import parse_procedure
from assistant.work.reverse import draft
from assistant.work.session import Doors, work_job

BENCH = Path(__file__).parents[1] / "talks" / "bench"


def taken_apart(jobs: Path, *said: str) -> None:
    """Work a teardown from typed lines, up to where the lines end."""
    lines = jobs.with_suffix(".txt")
    lines.write_text("\n".join(("yes", *said)))
    with lines.open() as typed, lines.with_suffix(".out").open("w") as out:
        doors = Doors(hear="text", speak="none")
        work_job(str(BENCH / "teardown.yaml"), jobs, doors, new="down", route="", typed=typed, out=out)


def drafted(jobs: Path) -> str:
    """Draft the way back of the teardown."""
    with JobFolder.open(jobs, "down", hold=False) as folder:
        return draft(folder)


def test_what_came_off_last_goes_on_first(tmp_path: Path) -> None:
    """The steps are in the reverse order, each with where the part lies and which way round it was."""
    taken_apart(
        tmp_path / "jobs",
        "took off the fan shroud in shelf one",
        "took off the idler wheel in tray two slot four",
        "two dots",
        "marked end up",
        "took off the rocker cover",
    )
    steps = parse_procedure(drafted(tmp_path / "jobs"), name="draft").steps
    assert [(step.say, step.put_back) for step in steps] == [
        ("Fit the rocker cover.", ("rocker cover",)),
        ("Fit the idler wheel, from tray two slot four, two dots, marked end up.", ("idler wheel",)),
        ("Fit the fan shroud, from shelf one.", ("fan shroud",)),
    ]


def test_what_was_taken_back_or_is_back_is_not_drafted(tmp_path: Path) -> None:
    """Undone removals and parts that went back already have no step; the last time off counts for the order."""
    taken_apart(
        tmp_path / "jobs",
        "took off the rocker cover",
        "took off the idler wheel",
        "undo",
        "undo",
        "took off the fan shroud",
        "put back the rocker cover",
        "took off the rocker cover in box two",
    )
    steps = parse_procedure(drafted(tmp_path / "jobs"), name="draft").steps
    assert [step.step for step in steps] == ["fit-1-rocker-cover", "fit-2-fan-shroud"]


def test_labels_and_loose_parts_are_drafted_with_what_describes_them(tmp_path: Path) -> None:
    """A label stands for its part and names its note; a loose part is named by its place."""
    taken_apart(
        tmp_path / "jobs",
        "label bravo seven",
        "end note",
        "bravo seven in tray one",
        "loose part in bag three",
    )
    text = drafted(tmp_path / "jobs")
    steps = parse_procedure(text, name="draft").steps
    assert [step.say for step in steps] == [
        "Fit the loose part, from bag three.",
        "Fit what is labelled bravo seven, from tray one.",
    ]
    assert "described in note-0001.flac" in text
    assert "complete:" in text


def test_draft_keeps_what_its_author_asked_of_a_part(tmp_path: Path) -> None:
    """Marks, ways round and cautions of the teardown come along."""
    taken_apart(tmp_path / "jobs", "took off the idler wheel", "no mark", "marked end up")
    drafted_procedure = parse_procedure(drafted(tmp_path / "jobs"), name="draft")
    assert drafted_procedure.parts["idler wheel"].own_place
    assert set(drafted_procedure.parts["idler wheel"].questions) == {"mark", "way_round"}
    assert drafted_procedure.cautions == ("Battery off, load supported.",)
    assert drafted_procedure.demonstration


def test_teardown_without_parts_says_what_to_say(tmp_path: Path) -> None:
    """Nothing that came off is an error that names the words for it."""
    taken_apart(tmp_path / "jobs", "done")
    with pytest.raises(JobError, match="took off"):
        drafted(tmp_path / "jobs")


def test_command_writes_a_file_and_overwrites_none(tmp_path: Path) -> None:
    """The draft is printed or written; a file that is there, perhaps completed by hand, stays as it is."""
    taken_apart(tmp_path / "jobs", "took off the fan shroud")
    jobs, out = ["--jobs-dir", str(tmp_path / "jobs")], tmp_path / "back.yaml"
    printed = CliRunner().invoke(app, ["reverse", "down", *jobs])
    assert "put_back: fan shroud" in printed.stdout
    assert CliRunner().invoke(app, ["reverse", "down", *jobs, "--out", str(out)]).exit_code == 0
    assert out.read_text() == printed.stdout
    again = CliRunner().invoke(app, ["reverse", "down", *jobs, "--out", str(out)])
    assert isinstance(again.exception, JobError)
