"""What is measured and worked out, in the record: rows of a job that was talked through."""

from pathlib import Path

from assistant.record.gather import gather
from assistant.record.model import Measurement, Record
from assistant.record.render import draw_groups, render
from tests.talks.talk import play

TALKS = Path(__file__).parents[1] / "talks"


def record_of(talk: str) -> Record:
    """Make the record of a talk's job."""
    played = play(TALKS / f"{talk}.talk")
    return gather(played.route, list(played.store.entries()))


def rows(record: Record, step: str) -> list[Measurement]:
    """Give the rows of one step."""
    return [row for row in record.measurements if row.step == step]


def test_mean_stands_with_its_readings_and_spread() -> None:
    """The first mean of three no longer stands once a fourth reading was taken; both keep their readings."""
    first, second = rows(record_of("several-readings"), "bore")
    assert (first.stands, second.stands) == (False, True)
    assert [len(row.readings) for row in (first, second)] == [3, 4]
    assert (str(second.value), str(second.spread), str(second.gauge)) == ("25.036 mm", "0.021 mm", "0.005 mm")
    assert second.deviation is not None


def test_worked_out_value_stands_with_its_formula_and_numbers() -> None:
    """The clearance shows what it came from, what it is known to, and why it was accepted."""
    last = rows(record_of("clearance-from-two-diameters"), "clearance")[-1]
    assert last.formula == "bore - shaft"
    assert {name: str(value) for name, value in last.inputs.items()} == {
        "bore": "25.03 mm",
        "shaft": "24.969 mm",
    }
    assert (last.verdict, last.accepted, str(last.gauge)) == ("in doubt", "on instruction", "0.0071 mm")


def test_value_that_was_put_off_is_not_shown_as_accepted() -> None:
    """Its departure says that it was put off, and its row that nobody accepted it."""
    record = record_of("value-put-off")
    first, second = rows(record, "feeler")
    assert (first.accepted, second.accepted, second.stands) == ("", "", True)
    assert [each.what for each in record.departures] == ["put off outside its limits"]


def test_value_that_no_longer_holds_says_so() -> None:
    """The shim whose gap was measured again is open, and marked in its row and on the page."""
    played = play(TALKS / "shim-of-the-sizes-at-hand.talk")
    record = gather(played.route, list(played.store.entries()))
    *_, last = rows(record, "shim")
    assert last.stale
    assert (str(last.size), str(last.leaves), last.leaves_what) == ("0.30 mm", "0.15 mm", "the end float")
    assert record.open_items[0].kind == "stale"
    assert "no longer holds" in render(draw_groups(played.route, record), record)


def test_time_line_tells_readings_and_what_was_worked_out() -> None:
    """Each has its line in plain words."""
    told = [moment.what for moment in record_of("clearance-from-two-diameters").time_line]
    assert "Reading taken, step 1: 25.03 mm" in told
    assert "Measured the bore: 25.03 mm (mean of 3 readings), within its limits" in told
    assert any(
        line.startswith("Worked out the running clearance: 0.035 mm, within its limits") for line in told
    )
    assert any("no longer holds, since step 2 was measured again" in line for line in told)
