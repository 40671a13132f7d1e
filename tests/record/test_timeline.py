import pytest

from assistant.job.events import EVENT, JobTakenUp
from assistant.job.memory import MemoryStore
from assistant.record.timeline import WORDS, time_line
from tests.record.sample import BEGAN, Script, demonstration, sample_entries

LINES = time_line(demonstration(), sample_entries())

SILENT = {
    "notes-listed",
    "note-transcribed",
    "heard",
    "refused",
    "replied",
    "step-reached",
    "asked",
    "question-closed",
    "voice-set",
    "note-ended",
    "calibration-told",
    "torque-told",
    "undone",
}
"""Kinds with no words of their own: they were only said, or take back what others say."""


def test_every_kind_of_event_is_considered() -> None:
    """Each kind of event has a line in the time line, or is one of those that were only said."""
    schema = EVENT.json_schema()
    kinds = set(schema["discriminator"]["mapping"])
    told = {kind.model_fields["kind"].default for kind in WORDS}  # type: ignore[attr-defined]
    assert kinds == told | SILENT
    assert not told & SILENT


def test_lines_are_in_order() -> None:
    """The time line runs from the beginning to the end."""
    assert LINES[0].at == BEGAN
    assert [line.at for line in LINES] == sorted(line.at for line in LINES)


def test_acts_of_one_stage_share_a_line() -> None:
    """A run of like acts is one line, with its positions in order and its first and last time."""
    line = next(line for line in LINES if line.what.startswith("Head bolts, stage 1 of 4"))
    assert line.what == "Head bolts, stage 1 of 4, snug: positions 2, 3, 7, 6, 5, 1, 4 and 8"
    assert line.until is not None
    assert (line.until - line.at).total_seconds() == 7 * 20
    assert line.said == ("done",)


def test_out_of_order_is_said() -> None:
    """An act out of its turn has a line of its own that says so."""
    assert any(line.what.endswith("then 90 deg: position 3, out of order") for line in LINES)


@pytest.mark.parametrize(
    "words",
    [
        "Caution of step 1 acknowledged",
        "Asked: Do the flywheel mark and the pointer stand face to face? Answer: yes",
        "Measured the gap under the straight edge: 0.08 mm, above its limit",
        "Wait of 45 min begun, step 12",
        "Wait of step 12 cut short with 25 min left",
        "Locking pin put in",
        "Note 1 spoken, at step 4",
        "Work paused",
        "Work resumed",
        "Job opened again by Sam",
    ],
)
def test_plain_words(words: str) -> None:
    """What was done stands there in plain words."""
    assert words in [line.what for line in LINES]


def test_a_stage_with_a_break_in_it_has_two_lines() -> None:
    """Something else that happened in the middle of a stage divides its line."""
    script = Script(MemoryStore(), demonstration())
    script.open()
    script.tighten("cover-screws", numbers=[0, 1])
    script.add(JobTakenUp())
    script.tighten("cover-screws", numbers=[2, 3])
    lines = time_line(script.route, tuple(script.store.entries()))
    assert [line.what for line in lines][-3:] == [
        "Cover screws, stage 1 of 2, snug: positions 1 and 3",
        "Job opened again",
        "Cover screws, stage 1 of 2, snug: positions 2 and 4",
    ]
