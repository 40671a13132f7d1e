"""The commands on the notes and the journal of a job, as a user gives them."""

import re
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
import soundfile
from typer.testing import CliRunner, Result

from assistant.cli import app
from assistant.errors import AssistantError
from assistant.job.events import NoteBegun, NoteCorrected, NoteTranscribed
from assistant.job.fold import replay
from assistant.job.folder import JobFolder
from assistant.sound import Samples
from assistant.work.job_notes import write_down
from tests.record.sample import PROCEDURE, write_job

JOB = "Generator at the mill"


@pytest.fixture(autouse=True)
def jobs(tmp_path: Path) -> Path:
    """Give a folder with the made-up job and the sound of its notes."""
    home = tmp_path / "jobs"
    with JobFolder.create(home, JOB, PROCEDURE.read_text(encoding="utf-8")) as folder:
        write_job(folder.journal, settled=True)
        for number in (1, 2):
            sound = 0.1 * np.sin(np.arange(8000) * 0.1 * number)
            soundfile.write(folder.sound / f"note-000{number}.flac", sound, 16_000, format="FLAC")
    return home


def callout(jobs: Path, *arguments: str) -> Result:
    """Give a command; one that fails by a fault of its own raises."""
    result = CliRunner().invoke(app, [*arguments, "--jobs-dir", str(jobs)], env={"COLUMNS": "200"})
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def test_notes_are_listed(jobs: Path) -> None:
    """The list says when, what for, about what, how long, and what they say."""
    listed = callout(jobs, "notes", JOB).stdout
    for words in ("fault found", "Rocker bolts, position 4", "The nut is worn.", "corrected by Sam", "rough"):
        assert words in listed
    assert "fault found" not in callout(jobs, "notes", JOB, "1").stdout


@pytest.mark.parametrize(
    ("terminal", "lines"),
    [
        ({"FORCE_COLOR": "1"}, ["note 2", "for: fault found", "about: Rocker bolts, position 4"]),
        ({}, ["note 2", "fault found", "Rocker bolts, position 4", "The nut is worn."]),
    ],
)
def test_notes_can_be_read_at_eighty_columns(jobs: Path, terminal: dict[str, str], lines: list[str]) -> None:
    """On a terminal each is a paragraph with its texts whole; in a pipe, one line with all of it."""
    result = CliRunner().invoke(
        app, ["notes", JOB, "2", "--jobs-dir", str(jobs)], env={"COLUMNS": "80", **terminal}
    )
    told = [re.sub(r"\x1b\[[\d;]*m", "", line).strip() for line in result.stdout.splitlines()]
    if terminal:
        assert set(lines) <= set(told)
        assert all(len(line) <= 80 for line in told)
    else:
        assert sum(all(words in line for words in lines) for line in told) == 1


def test_notes_are_played_with_their_introduction(jobs: Path, tmp_path: Path) -> None:
    """Into a file goes what introduces a note, then the note; slower takes longer."""
    lengths = []
    for pace in ("1", "0.5"):
        out = tmp_path / f"played-{pace}.wav"
        callout(jobs, "notes", JOB, "2", "--play", "--speak", str(out), "--pace", pace)
        lengths.append(soundfile.info(out).duration)
    assert lengths[0] > 2.0
    assert lengths[1] == pytest.approx(lengths[0] + 0.5, abs=0.1)


def test_lost_sound_is_told_when_it_is_asked_for(jobs: Path, tmp_path: Path) -> None:
    """The others are played or copied, and the note whose sound is gone is named on stderr with exit code 1."""
    sound = next(jobs.glob("*/sound"))
    (sound / "note-0001.flac").unlink()
    out = tmp_path / "played.wav"
    played = callout(jobs, "notes", JOB, "--play", "--speak", str(out))
    copied = callout(jobs, "notes", JOB, "--export", str(tmp_path / "copied"))
    assert played.stderr == copied.stderr == "The sound of note 1 (note-0001.flac) is MISSING.\n"
    assert played.exit_code == copied.exit_code == 1
    assert "note-0002.flac" in copied.stdout
    assert soundfile.info(out).duration > 2.0
    assert callout(jobs, "notes", JOB, "2", "--play", "--speak", str(out)).exit_code == 0


def test_notes_are_exported(jobs: Path, tmp_path: Path) -> None:
    """Sound and a table are copied into a folder."""
    out = tmp_path / "out"
    callout(jobs, "notes", JOB, "--export", str(out))
    assert sorted(path.name for path in out.iterdir()) == ["note-0001.flac", "note-0002.flac", "notes.csv"]
    assert "The nut is worn." in (out / "notes.csv").read_text(encoding="utf-8")


def test_notes_are_written_down_and_corrected(jobs: Path) -> None:
    """A text that is asked for, and one put right, are events of the journal."""
    done = callout(jobs, "notes", JOB, "1", "--text", "--engine", "pocketsphinx")
    assert "rough" in done.stdout
    listed = callout(jobs, "notes", JOB, "1", "--correct", "It hums.", "--by", "Sam").stdout
    assert "It hums." in listed
    with JobFolder.open(jobs, JOB) as folder:
        *_, written, corrected = (entry.event for entry in folder.journal.entries())
        assert folder.journal.verify() is None
    assert isinstance(written, NoteTranscribed)
    assert corrected == NoteCorrected(note=1, words="It hums.", who="Sam")


@pytest.mark.parametrize(
    "arguments", [("7",), ("--correct", "x"), ("1", "2", "--correct", "x"), ("7", "--play")]
)
def test_what_is_not_there_is_told(jobs: Path, arguments: tuple[str, ...]) -> None:
    """A note that is not there, and a correction of none or several, are told."""
    with pytest.raises(AssistantError):
        callout(jobs, "notes", JOB, *arguments)


def test_journal_goes_out_comes_back_and_is_verified(jobs: Path, tmp_path: Path) -> None:
    """Export and import give a job that verifies; its sound, which is not carried along, is missed."""
    out = tmp_path / "job.jsonl"
    assert callout(jobs, "verify", JOB).exit_code == 1  # its picture was never there
    callout(jobs, "export", JOB, str(out))
    callout(jobs, "import", str(out), "--name", "copy")
    verified = callout(jobs, "verify", "copy")
    assert "The journal is whole" in verified.stdout
    assert "note-0001.flac) is MISSING" in verified.stdout
    assert verified.exit_code == 1


def test_learning_writes_a_patch(jobs: Path, tmp_path: Path) -> None:
    """What a job teaches is told, and edits are drafted into a file."""
    path = tmp_path / "lessons.patch"
    told = callout(jobs, "learn", JOB, "--patch", str(path)).stdout
    assert "accepted outside its limits" in told
    assert path.read_text(encoding="utf-8").startswith("--- procedure.yaml\n+++ procedure.yaml\n")
    assert "+    # " not in callout(jobs, "learn", JOB, "--patch", str(path)).stdout
    assert "+  # " in callout(jobs, "learn", JOB).stdout


def _begin_note(folder: JobFolder) -> Path:
    """Begin a third note, and give the file into which its sound goes while it is spoken."""
    last = replay(folder.journal.entries())
    begun = NoteBegun(note=3, file="note-0003.flac", step="make-safe")
    folder.journal.append(last.turn + 1, datetime(2031, 3, 6, tzinfo=UTC), (begun,))
    return folder.sound / "note-0003.part"


def test_note_of_a_killed_program_is_there_before_the_job_is_taken_up(jobs: Path, tmp_path: Path) -> None:
    """The sound of a note that a power cut ended is listed, written down and in the record, none called missing."""
    with JobFolder.open(jobs, JOB) as folder:
        _begin_note(folder).write_bytes(bytes(2 * 16_000 * 3))
    listed = callout(jobs, "notes", JOB, "3").stdout
    assert "3 s, cut off" in listed
    assert "missing" not in listed
    assert "note 3, pocketsphinx" in callout(jobs, "notes", JOB, "--text", "--engine", "pocketsphinx").stdout
    out = tmp_path / "out"
    callout(jobs, "record", JOB, "--out", str(out))
    page = (out / "record.html").read_text(encoding="utf-8")
    assert "kept as far as it went" in page
    assert "sound is missing" not in page
    assert (out / "sound" / "note-0003.flac").is_file()


def test_note_that_is_being_spoken_is_not_called_missing(jobs: Path, tmp_path: Path) -> None:
    """While a program records a note, others leave its sound alone and say that it is still open."""
    with JobFolder.open(jobs, JOB) as folder:
        part = _begin_note(folder)
        part.write_bytes(bytes(32_000))
        listed = callout(jobs, "notes", JOB, "3").stdout
        callout(jobs, "record", JOB, "--out", str(tmp_path))
        assert part.is_file()
    page = (tmp_path / "record.html").read_text(encoding="utf-8")
    assert "still open" in listed
    assert "Still being spoken" in page
    assert "sound is missing" not in listed + page


@pytest.mark.parametrize(
    ("said", "text"),
    [
        ("The nut is worn. End note.", "The nut is worn."),
        ("the nut is worn end of note", "the nut is worn"),
        ("At the end, note the gap.", "At the end, note the gap."),
        ("End note", ""),
    ],
)
def test_words_that_end_a_note_are_not_in_its_text(jobs: Path, said: str, text: str) -> None:
    """Said in one breath with the note they are in its sound, but not in what it says."""

    class Says:
        name, rough = "says", False

        def write_down(self, samples: Samples) -> str:
            """Give the same words whatever is heard."""
            return said if samples.size else ""

    with JobFolder.open(jobs, JOB) as folder:
        assert list(write_down(folder, (1,), Says(), datetime(2031, 3, 6, tzinfo=UTC))) == [(1, text)]
