from datetime import UTC, datetime, timedelta
from pathlib import Path

from assistant.job.events import (
    Event,
    JobOpened,
    LabelGiven,
    NoteBegun,
    PartPlaced,
    PartRemoved,
    PartReturned,
    PartReused,
    PartTold,
    SupplyApplied,
    ToolMoved,
    Undone,
)
from assistant.job.memory import MemoryStore
from assistant.procedure.load import load_procedure
from assistant.procedure.route import route_through
from assistant.record.gather import gather
from assistant.record.model import Record

ROUTE = route_through(load_procedure(Path(__file__).parents[1] / "talks" / "bench" / "top-end.yaml"))
AT = datetime(2026, 3, 2, 8, tzinfo=UTC)


def recorded(*events: Event) -> Record:
    """Make the record of a job with these events, one a turn, a minute apart."""
    store = MemoryStore()
    opened = JobOpened(job="things", procedure="things", revision=1)
    for number, event in enumerate((opened, *events)):
        store.append(number, AT + timedelta(minutes=number), (event,))
    return gather(ROUTE, tuple(store.entries()))


def test_what_came_off_is_listed_with_place_marks_and_return() -> None:
    """A part has a row with where it lay last, what was told of it, and when it went back."""
    record = recorded(
        PartRemoved(thing="rocker cover", step="cover-off", place="shelf one"),
        PartPlaced(thing="rocker cover", step="cover-off", place="shelf two"),
        PartTold(thing="rocker cover", step="cover-off", about="mark", answer="one dot"),
        PartReturned(thing="rocker cover", step="cover-on"),
        PartRemoved(thing="rocker cover", step="cover-on"),
    )
    rows = [(row.thing, row.number, row.place, row.told, row.back is not None) for row in record.removed]
    assert rows == [
        ("rocker cover", 2, "shelf two", ("one dot",), True),
        ("rocker cover", 9, "", (), False),
    ]


def test_label_names_the_note_that_describes_it() -> None:
    """A label that was said before it was described keeps its row."""
    record = recorded(
        PartRemoved(thing="bravo seven", step="clear", place="bag one"),
        LabelGiven(label="bravo seven", step="clear", note=1),
        NoteBegun(note=1, file="note-0001.flac", step="clear", label="bravo seven"),
    )
    assert [(row.thing, row.place, row.note) for row in record.removed] == [
        ("bravo seven", "bag one", "note-0001.flac")
    ]


def test_what_was_taken_back_has_no_row() -> None:
    """An undone removal is told in the time line only."""
    record = recorded(PartRemoved(thing="rocker cover", step="cover-off"), Undone(turn=1))
    assert record.removed == ()
    assert record.time_line[-1].what == "Taken back: Rocker cover came off"


def test_kit_says_what_was_used_again() -> None:
    """A part that was not replaced is told from one that is left over."""
    record = recorded(PartReused(part="cover gasket", step="gasket", reason="part missing", departure=True))
    standing = {row.part: row.standing for row in record.parts}
    assert standing == {"cover gasket": "used again", "o-ring": "left over"}
    assert [row.what for row in record.departures] == ["cover gasket used again"]


def test_open_things_and_time_line_in_words() -> None:
    """What is open, and what was done, stands there in plain words."""
    record = recorded(
        ToolMoved(tool="rag", inside=True),
        ToolMoved(tool="rag", inside=True),
        SupplyApplied(step="rings", what="engine oil"),
        PartRemoved(thing="loose part in bag one", step="clear", place="bag one"),
        PartRemoved(thing="kilo two", step="clear", place="bag two"),
        PartRemoved(thing="rocker cover", step="cover-off", place="shelf one"),
        PartReused(part="cover gasket", step="gasket", reason="part missing", departure=True),
    )
    said = {item.what for item in record.open_items}
    assert {
        "Still inside: rag, 2 of them",
        "Not back in place: rocker cover",
        "A part without a label lies in bag one",
        "Nothing describes kilo two",
        "For one use, but used again: cover gasket",
    } <= said
    lines = [moment.what for moment in record.time_line]
    assert "Engine oil put on" in lines
    assert "Rocker cover came off, into shelf one" in lines
    assert "Used again, though it is for one use: cover gasket. Reason: part missing" in lines
