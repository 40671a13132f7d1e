import shutil
import subprocess
from datetime import timedelta
from pathlib import Path

import pytest

from assistant.job.events import (
    CheckAnswered,
    JobClosed,
    NoteBegun,
    NoteEnded,
    NoteTranscribed,
    Refused,
    StepDone,
    StepReached,
    TimerEnded,
    TimerStarted,
)
from assistant.job.folder import JobFolder
from assistant.procedure.load import parse_procedure
from assistant.procedure.route import route_through
from assistant.record.learn import Lessons, lessons_of
from tests.record.sample import PROCEDURE, Script, demonstration, write_job

TEXT = PROCEDURE.read_text(encoding="utf-8")


def _lessons(tmp_path: Path, text: str | None = None, *, settled: bool = False) -> Lessons:
    with JobFolder.create(tmp_path / "jobs", "job", TEXT) as folder:
        write_job(folder.journal, settled=settled)
        script = Script(folder.journal, demonstration())
        script.turn, script.now = 1000, list(folder.journal.entries())[-1].at
        _more(script)
        return lessons_of(folder, text, name="set-head.yaml")


def _more(script: Script) -> None:
    """Let more happen that there is something to learn from."""
    for words in ("head gasket it", "set gasket", "mumble"):
        script.add(StepReached(step="fit-gasket"), Refused(words=words))
    script.say("next time", NoteBegun(note=3, file="note-0003.flac", step="set-head", matter="for next time"))
    script.say("end note", NoteEnded(note=3, seconds=4))
    script.add(NoteTranscribed(note=3, words="Have a second pair\nof hands.", engine="whisper"))
    script.add(TimerStarted(step="bleed-down", seconds=2700))
    script.add(TimerEnded(step="bleed-down"), after_s=2700)
    script.add(CheckAnswered(step="bleed-down", passed=False))
    script.add(CheckAnswered(step="bleed-down", passed=True), StepDone(step="bleed-down"), after_s=1000)


def test_what_happened_is_told(tmp_path: Path) -> None:
    """Times, departures, what was done again, notes for next time, and what was misheard each have a line."""
    lines = "\n".join(_lessons(tmp_path).lines)
    for words in (
        "of work at",
        "left out, because: rods are still at the cleaner's",
        "accepted outside its limits, because: owner wants it run until summer",
        "taken back once",
        "answered with no once",
        "the wait of 45 min was too short; it took 65 min",
        "for next time, note 3: Have a second pair\nof hands.",
        'said again 3 times, most like the name "head gasket"',
    ):
        assert words in lines


def test_a_patch_gives_the_edited_file(tmp_path: Path) -> None:
    """The patch applies to the file with the usual tool, and what comes of it is a procedure, one revision on."""
    learnt = _lessons(tmp_path)
    author = tmp_path / "set-head.yaml"
    author.write_text(TEXT, encoding="utf-8")
    if shutil.which("patch") is None:
        pytest.skip("there is no patch here")
    subprocess.run(
        ["patch", "-p0"], input=learnt.patch, text=True, cwd=tmp_path, check=True, capture_output=True
    )
    edited = author.read_text(encoding="utf-8")
    before, after = parse_procedure(TEXT, name="before"), parse_procedure(edited, name="after")
    assert after.revision == before.revision + 1
    waits = [step.wait for step in after.steps if step.wait]
    assert str(waits[0].least) == "65 min"
    kept = {"revision": before.revision, "steps": before.steps}
    assert after.model_copy(update=kept) == before
    assert [step.step for step in after.steps] == [step.step for step in before.steps]


def test_nothing_of_the_author_s_is_lost(tmp_path: Path) -> None:
    """Every line of the author's file is still there, comments too, but for the values that are bettered."""
    text = TEXT.replace("steps:\n", "steps:  # in this order\n# a comment of the author's\n").rstrip("\n")
    learnt = _lessons(tmp_path, text)
    removed = [
        line for line in learnt.patch.splitlines() if line.startswith("-") and not line.startswith("---")
    ]
    assert removed == [
        "-revision: 1",
        "-    wait: {least: 45 min, test: Do both push rods of each cylinder turn freely?}",
    ]
    added = [
        line for line in learnt.patch.splitlines() if line.startswith("+") and not line.startswith("+++")
    ]
    comments = [line for line in added if line.lstrip("+ ").startswith("#")]
    assert len(added) - len(comments) == len(removed)
    assert all(len(line) <= 100 for line in comments)


def test_an_older_file_of_the_author_s(tmp_path: Path) -> None:
    """Steps that the author's file has not (any more) are told, and no edit is drafted for them."""
    text = "\n".join(line for line in TEXT.splitlines() if "push-rods" not in line or "step:" in line)
    text = text.replace("step: push-rods", "step: rods-in")
    learnt = _lessons(tmp_path, text)
    assert "cleaner" in "\n".join(learnt.lines)
    assert "cleaner" not in learnt.patch


def test_nothing_to_learn(tmp_path: Path) -> None:
    """A job that went as planned gives no patch, and says so."""
    with JobFolder.create(tmp_path, "job", TEXT) as folder:
        script = Script(folder.journal, demonstration())
        script.open()
        script.now += timedelta(minutes=1)
        script.done("make-safe")
        script.add(JobClosed())
        learnt = lessons_of(folder, None, name="x.yaml")
    assert learnt.patch == ""
    assert learnt.lines[-1] == "Nothing went otherwise than planned."


def test_steps_of_a_repeat(tmp_path: Path) -> None:
    """What happened at a step of a block stands above it where it is written once, with its own name."""
    text = (
        "procedure: Bench\nrevision: 1\nabout: Invented, for the tests.\ncautions: Lock it.\nsteps:\n"
        "  - {step: first, say: Look.}\n"
        "  - repeat: cylinder\n"
        "    each: [front, rear]\n"
        "    steps:\n"
        "      - {step: bleed, say: 'Bleed {cylinder}.', wait: {least: 45 min, test: Soft?}}\n"
    )
    with JobFolder.create(tmp_path, "job", text) as folder:
        script = Script(folder.journal, route_through(parse_procedure(text, name="x")))
        script.open()
        script.add(StepReached(step="bleed-rear"), TimerStarted(step="bleed-rear", seconds=2700))
        script.add(TimerEnded(step="bleed-rear"), after_s=2700)
        script.add(CheckAnswered(step="bleed-rear", passed=False))
        script.add(CheckAnswered(step="bleed-rear", passed=True), StepDone(step="bleed-rear"), after_s=1000)
        learnt = lessons_of(folder, None, name="x.yaml")
    assert "+      # bleed-rear: the wait of 45 min was too short; it took 65 min" in learnt.patch
    assert (
        "+      - {step: bleed, say: 'Bleed {cylinder}.', wait: {least: 65 min, test: Soft?}}" in learnt.patch
    )
