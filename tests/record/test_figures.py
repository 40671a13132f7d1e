"""The pictures of time and of measurements: whole, grey, and true to scale."""

import re
from datetime import timedelta
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest

from assistant.record.figures import time_figure
from assistant.record.gather import gather
from assistant.record.gauge import gauge_figure
from assistant.record.model import Measurement, Span
from assistant.torque.units import read_quantity
from tests.record.sample import BEGAN, demonstration, sample_entries

UNSETTLED = gather(demonstration(), sample_entries())
SETTLED = gather(demonstration(), sample_entries(settled=True))


def _words(svg: str) -> list[str]:
    return [element.text or "" for element in ET.fromstring(svg).iter() if element.tag.endswith("}text")]  # noqa: S314


@pytest.mark.parametrize("record", [UNSETTLED, SETTLED], ids=["unsettled", "settled"])
def test_time_is_drawn_day_by_day(record: object) -> None:
    """Each day of work has its row, with the numbers of steps, and everything is grey."""
    svg = time_figure(UNSETTLED if record is UNSETTLED else SETTLED)
    words = _words(svg)
    assert "2031-03-04" in words
    assert "2031-03-05" in words
    assert {"a step, by its number", "paused", "nothing said", "wait cut short", "note", "departure"} <= set(
        words
    )
    for red, green, blue in re.findall(r"#([0-9a-f])([0-9a-f])([0-9a-f])\b", svg):
        assert red == green == blue


def test_a_wait_cut_short_is_crossed_out() -> None:
    """A wait that was cut short has its cross and its dashed rest; one that was waited out has neither."""
    assert time_figure(UNSETTLED).count("l12 12m0 -12l-12 12") == 2  # in the row, and in the legend
    assert time_figure(SETTLED).count("l12 12m0 -12l-12 12") == 1


def test_notes_close_together_share_their_numbers() -> None:
    """Notes of one minute have one label, "2-4", where numbers of their own would lie upon each other."""
    note, hour = UNSETTLED.notes[0], timedelta(hours=1)
    ats = [note.at, note.at + hour, note.at + hour, note.at + hour + timedelta(seconds=20)]
    notes = tuple(note.model_copy(update={"note": number, "at": at}) for number, at in enumerate(ats, 1))
    drawn = time_figure(UNSETTLED.model_copy(update={"notes": notes}))
    labels = re.findall(r'<text x="[\d.]+" y="[\d.]+">([\d-]+)</text>', drawn)
    assert labels == ["1", "2-4"]


def test_an_hour_is_as_long_on_every_day() -> None:
    """All rows have the same scale: the lines of the hours stand at the same distances."""
    places = [float(x) for x in re.findall(r'class="f" d="M([\d.]+)', time_figure(UNSETTLED))]
    steps = {round(after - before, 1) for before, after in pairwise(places) if after > before}
    assert max(steps) - min(steps) < 0.2


def test_a_job_of_a_moment_can_be_drawn() -> None:
    """A job in which nothing but its beginning was recorded has a picture too."""
    record = gather(demonstration(), sample_entries()[:1])
    assert "2031-03-04" in _words(time_figure(record))


def test_spans_leave_no_gap() -> None:
    """From the first entry to the last, each moment belongs to one stretch: a step, a pause, or nobody there."""
    spans = UNSETTLED.spans
    assert spans[0].began == UNSETTLED.head.began
    assert spans[-1].ended == UNSETTLED.head.ended
    assert all(before.ended == after.began for before, after in pairwise(spans))
    assert {span.what for span in spans} == {"step", "paused", "away"}


def test_the_night_is_a_pause() -> None:
    """The hours between "pause" and the next day are no work."""
    (night,) = (span for span in UNSETTLED.spans if span.what == "paused")
    assert night.ended - night.began > timedelta(hours=19)
    worked = sum((span.ended - span.began for span in UNSETTLED.spans if span.what == "step"), timedelta())
    assert worked < timedelta(hours=1)
    assert isinstance(night, Span)


def _measured(value: str) -> Measurement:
    row = UNSETTLED.measurements[1]
    assert (str(row.least), str(row.most)) == ("0.20 mm", "0.30 mm")
    return row.model_copy(update={"value": read_quantity(value), "at": BEGAN})


@pytest.mark.parametrize(
    ("value", "left", "right"), [("0.25 mm", True, True), ("0.10 mm", False, True), ("0.5 mm", True, False)]
)
def test_a_value_lies_between_its_limits_or_does_not(value: str, left: bool, right: bool) -> None:  # noqa: FBT001
    """The dot is right of the lower limit and left of the upper one exactly where the value is within them."""
    svg = gauge_figure(_measured(value))
    dot = float(re.findall(r'<circle cx="([\d.]+)"', svg)[0])
    feet = re.findall(r'd="M([\d.]+) 20h(-?5)v24', svg)
    least, most = (float(x) + float(foot) for x, foot in feet)
    assert ((least < dot), (dot < most)) == (left, right)
    assert value in _words(svg)
    assert {"0.20 mm", "0.30 mm"} <= set(_words(svg))


@pytest.mark.parametrize(("missing", "gates"), [("least", 1), ("most", 1), ("gauge", 2)])
def test_one_limit_or_no_gauge(missing: str, gates: int) -> None:
    """A measurement with one limit, or whose gauge says nothing of its doubt, can be drawn."""
    svg = gauge_figure(_measured("0.25 mm").model_copy(update={missing: None}))
    assert "0.25 mm" in _words(svg)
    assert len(re.findall(r"20h-?5v24", svg)) == gates


def test_nothing_is_drawn_without_limits() -> None:
    """A value that has no limits is not drawn between any."""
    assert gauge_figure(_measured("0.25 mm").model_copy(update={"least": None, "most": None})) == ""


def test_readings_and_what_a_size_leaves() -> None:
    """Each reading has its ring; where a size was chosen, what it leaves is what is drawn and judged."""
    readings = tuple(map(read_quantity, ("0.24 mm", "0.26 mm")))
    assert (
        gauge_figure(_measured("0.25 mm").model_copy(update={"readings": readings})).count('class="l r"') == 2
    )
    leaves = {"leaves": read_quantity("0.22 mm"), "size": read_quantity("2.65 mm")}
    assert "0.22 mm" in _words(gauge_figure(_measured("2.7 mm").model_copy(update=leaves)))
