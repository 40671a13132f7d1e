"""What is known of values in a job: the size that suits, what is missing, what no longer holds."""

from datetime import UTC, datetime

import pytest

from assistant.job.closeout import open_items
from assistant.job.events import (
    Entry,
    Event,
    Measured,
    MeasurementAccepted,
    ReadingsReopened,
    StepDone,
    Undone,
    ValueDoubted,
    WorkedOut,
)
from assistant.job.fold import replay
from assistant.job.state import JobState
from assistant.job.values import missing, stale, work_out
from assistant.procedure.load import parse_procedure
from assistant.procedure.route import Route, route_through
from assistant.torque.units import read_quantity

AT = datetime(2026, 3, 2, 8, tzinfo=UTC)
TEXT = """
procedure: Cross shaft
revision: 1
about: It is shimmed.
cautions: none
steps:
  - {{step: gap, say: Measure., measure: {{name: gap, what: the gap, unit: mm, gauge: 0.01 mm}}}}
  - step: shim
    say: Choose.
    work_out:
      name: shim
      what: the shim
      value: gap - 0.05 mm
      sizes: [{sizes}]
      leaves: {{what: the end float, value: gap - shim, least: 0.02 mm, most: {most}}}
  - step: pack
    say: Work out.
    work_out: {{name: pack, what: the pack, value: shim + 1 mm, unit: mm}}
"""


def route(sizes: str = "0.10 mm, 0.15 mm, 0.20 mm", most: str = "0.08 mm") -> Route:
    """Read the procedure with these sizes at hand."""
    return route_through(parse_procedure(TEXT.format(sizes=sizes, most=most), name="t"))


def after(*events: Event) -> JobState:
    """Give the state after these events, each a turn of its own."""
    return replay(Entry(seq=n, turn=n, at=AT, event=event) for n, event in enumerate(events, start=1))


def gap(value: str) -> Measured:
    """Measure the gap."""
    return Measured(step="gap", value=read_quantity(value), verdict="no limits")


@pytest.mark.parametrize(
    ("value", "sizes", "most", "size", "leaves", "verdict"),
    [
        ("0.19 mm", "0.10 mm, 0.15 mm, 0.20 mm", "0.08 mm", "0.15 mm", "0.04 mm", "in"),
        # two are as near: the thinner, which leaves more to run in
        ("0.175 mm", "0.10 mm, 0.15 mm", "0.12 mm", "0.10 mm", "0.075 mm", "in"),
        # the nearest leaves a doubt, one that is further off does not
        ("0.20 mm", "0.12 mm, 0.175 mm", "0.10 mm", "0.12 mm", "0.08 mm", "in"),
        # none suits: the nearest, with what it leaves
        ("0.50 mm", "0.10 mm, 0.20 mm", "0.08 mm", "0.20 mm", "0.30 mm", "above"),
        ("0.09 mm", "0.10 mm, 0.20 mm", "0.08 mm", "0.10 mm", "-0.01 mm", "below"),
        # in other units than the gap
        ("0.19 mm", "4 thou, 6 thou, 8 thou", "0.08 mm", "6 thou", "0.0376 mm", "in"),
    ],
)
def test_size_is_the_nearest_that_suits(  # noqa: PLR0917
    value: str, sizes: str, most: str, size: str, leaves: str, verdict: str
) -> None:
    """A size that leaves a good value comes before one that does not; then the nearest, then the thinner."""
    found = work_out(route(sizes, most), after(gap(value)), "shim")
    assert (str(found.size), found.verdict) == (size, verdict)
    assert found.leaves is not None
    assert found.leaves.value == read_quantity(leaves).value


def test_value_of_a_value_that_does_not_hold_is_missing() -> None:
    """What rests on a stale value cannot be worked out before that was."""
    way = route()
    shim = work_out(way, after(gap("0.19 mm")), "shim")
    state = after(gap("0.19 mm"), shim, gap("0.26 mm"))
    wanted = way.step("pack").work_out
    assert wanted is not None
    assert missing(way, JobState(), wanted) == ("shim",)
    assert missing(way, after(gap("0.19 mm"), shim), wanted) == ()
    assert missing(way, state, wanted) == ("shim",)


def test_what_rests_on_a_stale_value_is_stale_too() -> None:
    """The pack came from the shim, and the shim from a gap that has changed; the same gap again changes nothing."""
    way = route()
    shim = work_out(way, after(gap("0.19 mm")), "shim")
    pack = work_out(way, after(gap("0.19 mm"), shim), "pack")
    assert stale(way, after(gap("0.19 mm"), shim, pack, gap("0.19 mm"))) == ()
    assert stale(way, after(gap("0.19 mm"), shim, pack, gap("0.26 mm"))) == ("shim", "pack")


def kinds(*events: Event) -> list[str]:
    """Name the kinds of what is open, the steps that are not done left out."""
    return [item.kind for item in open_items(route(), after(*events)) if item.kind != "step"]


def test_values_are_open_at_close_out_as_they_stand() -> None:
    """Outside its limits until accepted, stale until worked out anew, and a series that lacks a reading."""
    bad = WorkedOut(
        step="shim", value=read_quantity("0.45 mm"), verdict="above", inputs={"gap": read_quantity("0.50 mm")}
    )
    done = StepDone(step="gap")
    assert kinds(gap("0.50 mm"), done, bad) == ["measurement"]
    assert kinds(gap("0.50 mm"), done, bad, MeasurementAccepted(step="shim", reason="on instruction")) == []
    assert kinds(gap("0.51 mm"), done, bad) == ["stale"]
    more = ReadingsReopened(step="gap", readings=(read_quantity("0.50 mm"),))
    assert kinds(gap("0.50 mm"), done, more) == ["readings"]


def test_undo_brings_back_what_was_put_in_doubt() -> None:
    """Taking back the turn that changed a value takes back the doubt as well."""
    done, doubted = StepDone(step="shim"), ValueDoubted(step="shim", because="gap")
    entries = [
        Entry(seq=1, turn=1, at=AT, event=done),
        Entry(seq=2, turn=2, at=AT, event=gap("0.26 mm")),
        Entry(seq=3, turn=2, at=AT, event=doubted),
        Entry(seq=4, turn=3, at=AT, event=Undone(turn=2)),
    ]
    assert not replay(entries[:3]).done
    assert set(replay(entries).done) == {"shim"}
