from datetime import UTC, datetime, timedelta, timezone

import pytest

from assistant.errors import RecordError
from assistant.job.closeout import open_items
from assistant.job.events import (
    Entry,
    Event,
    JobClosed,
    JobOpened,
    PartRemoved,
    PartReturned,
    PartUsed,
    PositionWorked,
    StepDone,
    ToolMoved,
    Undone,
)
from assistant.job.fold import replay
from assistant.job.memory import MemoryStore
from assistant.procedure.route import route_through
from assistant.record.gather import gather
from assistant.record.model import DEMONSTRATION, FIRST_RULE, Record
from assistant.record.render import draw_groups, render
from assistant.record.tables import removed, tools
from assistant.record.tables import time_line as time_line_table
from assistant.torque.units import read_quantity
from tests.record.sample import BEGAN, Script, demonstration, sample_entries

UNSETTLED = gather(demonstration(), sample_entries())
SETTLED = gather(demonstration(), sample_entries(settled=True))


def _script() -> Script:
    script = Script(MemoryStore(), demonstration())
    script.open()
    return script


def _gathered(script: Script) -> Record:
    return gather(script.route, tuple(script.store.entries()))


def test_same_entries_same_record() -> None:
    """The same entries give the same record, to the letter."""
    again = gather(demonstration(), sample_entries())
    assert again.model_dump_json() == UNSETTLED.model_dump_json()


def test_json_comes_back() -> None:
    """The JSON of a record gives the same record when it is read."""
    assert Record.model_validate_json(UNSETTLED.model_dump_json()) == UNSETTLED


def test_head_and_notices() -> None:
    """The head says which job it is, and that it is a demonstration."""
    head = UNSETTLED.head
    assert (head.job, head.revision, head.began, head.closed) == ("Generator at the mill", 1, BEGAN, None)
    assert (head.steps_done, head.steps_total) == (12, 20)
    assert (UNSETTLED.first_rule, UNSETTLED.demonstration_words) == (FIRST_RULE, DEMONSTRATION)


def test_no_demonstration_words_on_a_real_procedure() -> None:
    """A procedure that is no demonstration is not called one."""
    real = demonstration().procedure.model_copy(update={"demonstration": False})
    record = gather(route_through(real), sample_entries())
    assert (record.demonstration, record.demonstration_words) == (False, "")


def test_every_open_item_is_there() -> None:
    """What is open is what the close-out finds, in its order."""
    found = open_items(demonstration(), replay(sample_entries()))
    assert [item.kind for item in UNSETTLED.open_items] == [item.kind for item in found]
    assert {item.kind for item in found} == {
        "position",
        "inside",
        "measurement",
        "wait",
        "kit",
        "skipped",
        "step",
    }


def test_open_items_in_words() -> None:
    """An open item says what is open, with its numbers and the step it belongs to."""
    said = [(item.what, item.number) for item in UNSETTLED.open_items]
    assert ("Head bolts, 1, 2, 4, 5, 6, 7 and 8: at stage 3 of 4", 13) in said
    assert ("Cover screws, all: not touched", 19) in said
    assert ("Still inside: locking pin", 14) in said
    assert ("The clearance at the valve stem: 0.33 mm, below its limit", 16) in said
    assert ("Wait of step 12 was cut short, 25 min too early", 12) in said
    assert ("Not fitted: cover gasket", 18) in said


def test_settled_job_has_nothing_open() -> None:
    """A job that was worked to its end has nothing open, and says when it was closed."""
    assert SETTLED.open_items == ()
    assert SETTLED.head.closed == SETTLED.head.ended


def test_position_has_stages_times_and_final_torque() -> None:
    """A position lists every stage with its value and time, and the torque and angle it was finished with."""
    head = next(group for group in SETTLED.groups if group.name == "head bolts")
    first = head.positions[0]
    assert [(work.stage, str(work.value)) for work in first.works] == [
        (1, "None"),
        (2, "30 N.m"),
        (3, "60 N.m"),
        (4, "90 deg"),
    ]
    assert first.final == (read_quantity("60 N.m"), read_quantity("90 deg"))
    assert all(earlier.at < later.at for earlier, later in zip(first.works, first.works[1:], strict=False))
    assert head.final == len(head.positions) == 8


def test_position_that_is_not_final_has_no_final_torque() -> None:
    """A position that stands below final or in doubt shows no final torque."""
    head = next(group for group in UNSETTLED.groups if group.name == "head bolts")
    assert all(position.final == () for position in head.positions)
    doubtful = head.positions[2]
    assert (doubtful.state.standing, doubtful.state.why) == ("doubtful", "stage 4 was done out of order")
    assert [work.in_order for work in doubtful.works] == [True, True, True, False]


def test_groups_off_the_route_are_left_out() -> None:
    """A short route shows only the groups that it tightens."""
    short = route_through(demonstration().procedure, "short")
    script = Script(MemoryStore(), short)
    script.open()
    assert [group.name for group in _gathered(script).groups] == ["rocker bolts", "cover screws"]


def test_undone_turn_does_not_count() -> None:
    """What was taken back counts nowhere, and stands in the time line as taken back."""
    script = _script()
    turn = script.done("fit-gasket")
    script.say("undo", Undone(turn=turn))
    record = _gathered(script)
    assert record.head.steps_done == 0
    assert record.parts[0].fitted == ()
    flagged = [moment.what for moment in record.time_line if moment.taken_back]
    assert flagged == [
        "Step 7 done: Lay the new head gasket on its dowels, the marked side up.",
        "Taken as fitted with its step: head gasket",
    ]
    assert record.time_line[-1].what.startswith("Taken back: Step 7 done")
    assert record.talk.taken_back == 1


def test_what_was_not_named_is_recorded_as_taken_with_its_step() -> None:
    """A part, tool or returned part of a step that was only said to be done is not written as said to be so."""
    script = _script()
    ring, step = "head gasket", "fit-gasket"
    by_step: Event = PartUsed(part=ring, step=step, with_step=True)
    script.add(PartUsed(part=ring, step=step), by_step, ToolMoved(tool="rag", inside=True, with_step=True))
    script.add(PartRemoved(thing="rocker cover", step=step))
    script.add(PartReturned(thing="rocker cover", step=step, with_step=True))
    script.add(PartReturned(thing="head", step=step, untold=True))
    record = _gathered(script)
    assert record.parts[0].fitted_words == "2 of 1, 1 taken so with the step"
    assert [moment.what for moment in record.time_line[-6:]] == [
        "Fitted from the kit: head gasket",
        "Taken as fitted with its step: head gasket",
        "Rag put in, as its step is done",
        "Rocker cover came off",
        "Rocker cover back in its place, as its step is done",
        "Head back in its place, though nobody had told that it was off",
    ]
    assert tools(record).rows[0][2].endswith(", taken so with the step")
    assert removed(record).rows[0][-1].endswith(", taken so with the step")
    assert render(draw_groups(demonstration(), record), record).count("</span>, taken so with the step") == 2


def test_done_again_after_undo_counts() -> None:
    """What is done again in the very utterance that took it back counts."""
    script = _script()
    turn = script.turn + 1
    script.say("done undo done", StepDone(step="marks"), Undone(turn=turn), StepDone(step="marks"))
    record = _gathered(script)
    assert record.head.steps_done == 1
    assert [moment.taken_back for moment in record.time_line][-3:] == [True, False, False]


def test_undone_position_goes_back() -> None:
    """A position whose last act was taken back stands where it stood before."""
    script = _script()
    script.tighten("cover-screws", numbers=[0, 1, 2, 3])
    turn = script.tighten("cover-screws", numbers=[4])
    script.say("undo", Undone(turn=turn))
    first = _gathered(script).groups[2].positions[0]
    assert (first.state.standing, len(first.works)) == ("snug", 1)


def test_measurements_and_their_verdicts() -> None:
    """A measurement keeps its limits, verdict and acceptance; one that was repeated stands no more."""
    rows = [(str(row.value), row.verdict, row.accepted, row.stands) for row in UNSETTLED.measurements]
    assert rows == [
        ("0.08 mm", "above", "owner wants it run until summer", True),
        ("0.31 mm", "in doubt", "", False),
        ("0.25 mm", "in", "", True),
        ("0.33 mm", "below", "", True),
    ]
    assert (str(UNSETTLED.measurements[1].least), str(UNSETTLED.measurements[1].most)) == (
        "0.20 mm",
        "0.30 mm",
    )


def test_departures_with_reasons() -> None:
    """Every departure is listed with its reason."""
    rows = [(row.number, row.what, row.reason) for row in UNSETTLED.departures]
    assert (10, "left out", "rods are still at the cleaner's") in rows
    assert (4, "accepted outside its limits", "owner wants it run until summer") in rows
    assert (12, "wait cut short", "stopped by voice") in rows


def test_tools_go_in_and_out() -> None:
    """A tool shows its moves, and whether it is still inside."""
    assert [(row.tool, row.inside) for row in UNSETTLED.tools] == [
        ("intake plug", True),
        ("port rag", True),
        ("locking pin", True),
    ]
    assert [[move.inside for move in row.moves] for row in SETTLED.tools] == [
        [True, False],
        [True, True, False, False],
        [True, False],
    ]


def test_waits_and_how_they_ended() -> None:
    """A wait shows whether it was waited out, with its end test's answer."""
    cut, whole = UNSETTLED.waits[0], SETTLED.waits[0]
    assert (cut.how, cut.left_s, cut.answer) == ("cut short", 1500, "yes")
    assert (whole.how, whole.left_s) == ("waited out", 0)
    assert whole.ended == whole.began + timedelta(seconds=2700)


def test_notes_with_step_and_length() -> None:
    """A note shows its step and length; one that never ended was cut off."""
    assert [(note.file, note.number, note.seconds) for note in UNSETTLED.notes] == [
        ("note-0001.flac", 4, 14.2),
        ("note-0002.flac", 16, None),
    ]


def test_talk_is_counted() -> None:
    """What was refused is counted apart: asked again, or let pass as talk."""
    assert (UNSETTLED.talk.asked_again, UNSETTLED.talk.let_pass) == (1, 1)


def test_closing_with_open_items_keeps_the_reason() -> None:
    """A job closed with open items shows when, and the reason that was given."""
    script = _script()
    script.say("parts are late", JobClosed(open_items=("kit at cover-gasket",), reason="parts are late"))
    record = _gathered(script)
    assert (record.head.close_reason, record.head.closed) == ("parts are late", record.head.ended)
    assert record.open_items


def test_times_are_by_the_clock_where_the_job_began() -> None:
    """What was said at half past midnight belongs to that day, though the journal's time is still the day before."""
    at = datetime(2031, 3, 3, 22, 30, tzinfo=UTC)
    event = JobOpened(job="a", procedure="b", revision=1, utc_offset_min=120)
    record = gather(demonstration(), (Entry(seq=1, turn=1, at=at, event=event),))
    head = record.model_dump(mode="json")["head"]
    assert (head["began"], head["zone"]) == ("2031-03-04T00:30:00+02:00", "UTC+02:00")
    assert "2031-03-04 00:30:00" in time_line_table(record).csv()
    page = render(draw_groups(demonstration(), record), record)
    assert "2031-03-04, 00:30:00" in page
    assert "UTC+02:00" in page


def test_times_of_a_journal_without_a_zone_are_in_utc() -> None:
    """A journal that does not say by which clock it was made is shown in UTC, and the record says so."""
    at = datetime(2031, 3, 4, 10, 0, tzinfo=timezone(timedelta(hours=2)))
    event = JobOpened(job="a", procedure="b", revision=1)
    head = gather(demonstration(), (Entry(seq=1, turn=1, at=at, event=event),)).head
    assert (head.model_dump(mode="json")["began"], head.zone) == ("2031-03-04T08:00:00Z", "UTC")


def test_empty_job_has_no_record() -> None:
    """A job with nothing in its journal is told of in one line."""
    with pytest.raises(RecordError, match="nothing is recorded"):
        gather(demonstration(), ())


@pytest.mark.parametrize("kind", ["step", "group", "position"])
def test_foreign_procedure_is_refused(kind: str) -> None:
    """A journal that was not made on this procedure is refused, naming the entry."""
    script = _script()
    act = script.route.plans["cover screws"][0]
    far = act.model_copy(update={"position": 99})
    events: dict[str, Event] = {
        "step": StepDone(step="no-such-step"),
        "group": PositionWorked(group="no such group", number=0, act=act),
        "position": PositionWorked(group="cover screws", number=0, act=far),
    }
    script.add(events[kind])
    with pytest.raises(RecordError, match=r"entry 8: the journal speaks of .*procedure.yaml"):
        _gathered(script)
