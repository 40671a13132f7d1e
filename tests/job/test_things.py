from datetime import UTC, datetime

from assistant.job.closeout import open_items
from assistant.job.events import (
    Entry,
    Event,
    LabelGiven,
    PartPlaced,
    PartRemoved,
    PartReturned,
    PartReused,
    PartTold,
    PartUsed,
    StepDone,
    StepReopened,
    SupplyApplied,
    ToolMoved,
    Undone,
)
from assistant.job.fold import replay
from assistant.job.state import JobState
from assistant.job.things import is_label, is_loose, loose_in
from assistant.procedure.load import parse_procedure
from assistant.procedure.route import route_through

ROUTE = route_through(
    parse_procedure(
        """
procedure: A bench
revision: 1
about: A test.
cautions: Care.
parts: {cover: {}, rod: {}, gasket: {use_once: true}, ring: {count: 3}}
tools: {rag: {count: 3}}
steps:
  - {step: in, say: In., put_in: {rag: 2}}
  - {step: fit, say: Fit., use: [gasket, ring], put_back: cover, apply: [{what: oil, where: the rod}]}
  - {step: out, say: Out., take_out: {rag: 2}}
""",
        name="bench.yaml",
    )
)
AT = datetime(2026, 3, 2, 8, tzinfo=UTC)


def after(*events: Event) -> JobState:
    """Give the state after these events, one a turn."""
    return replay(Entry(seq=n, turn=n, at=AT, event=event) for n, event in enumerate(events, start=1))


def found(state: JobState, *kinds: str) -> list[tuple[str, str, str, int]]:
    """Give what is open of these kinds: kind, step, what and how many."""
    return [
        (item.kind, item.step, item.what, item.count)
        for item in open_items(ROUTE, state)
        if item.kind in kinds
    ]


def test_tools_are_counted_in_and_out() -> None:
    """Two in and one out leaves one inside, and no more come out than are inside."""
    rags = [ToolMoved(tool="rag", inside=True), ToolMoved(tool="rag", inside=True)]
    out = ToolMoved(tool="rag", inside=False)
    assert found(after(*rags), "inside") == [("inside", "out", "rag", 2)]
    assert after(*rags, out).inside == {"rag": 1}
    assert after(*rags, out, out, out).inside == {}


def test_reopened_step_keeps_the_count_of_what_is_still_inside() -> None:
    """What is still inside need not go in again; what came out since does."""
    moved = [ToolMoved(tool="rag", inside=True, step="in") for _ in range(2)]
    reopened = StepReopened(step="in")
    assert after(*moved, reopened).counted["in", "in", "rag"] == 2
    assert after(*moved, ToolMoved(tool="rag", inside=False), reopened).counted["in", "in", "rag"] == 1


def test_reopened_step_wants_its_supplies_again() -> None:
    """Oil that was put on before a step was opened again does not count for the second time."""
    state = after(SupplyApplied(step="fit", what="oil"), StepReopened(step="fit"), StepDone(step="fit"))
    assert found(state, "supply") == [("supply", "fit", "oil", 1)]


def test_part_lies_where_it_was_laid_last_and_keeps_what_was_told() -> None:
    """Moving a part forgets neither its mark nor when it came off."""
    state = after(
        PartRemoved(thing="rod", step="in", place="tray two"),
        PartTold(thing="rod", step="in", about="way_round", answer="marked end up"),
        PartPlaced(thing="rod", step="fit", place="bag one"),
    )
    assert (state.off["rod"].place, state.off["rod"].step) == ("bag one", "in")
    assert state.off["rod"].told == {"way_round": "marked end up"}
    assert after(PartRemoved(thing="rod", step="in"), PartReturned(thing="rod", step="fit")).off == {}


def test_parts_that_are_not_back_are_open_at_the_step_that_fits_them() -> None:
    """The cover leads to its step; what no step fits is told together, where the reading is."""
    state = after(*(PartRemoved(thing=thing, step="in") for thing in ("cover", "rod", "bravo seven")))
    assert found(state, "off") == [("off", "fit", "cover", 1), ("off", "in", "rod, bravo seven", 2)]


def test_label_without_a_description_is_open_until_it_is_labelled() -> None:
    """A label that was only said describes nothing."""
    named = PartRemoved(thing="bravo seven", step="in", place="bag one")
    labelled = LabelGiven(label="bravo seven", step="in", note=1)
    assert found(after(named), "undescribed") == [("undescribed", "in", "bravo seven", 1)]
    assert found(after(named, labelled), "undescribed") == []
    assert after(named, labelled).off["bravo seven"].place == "bag one"


def test_loose_part_is_open_until_a_label_lies_in_its_place() -> None:
    """The part that lies there is the one that lay there."""
    loose = PartRemoved(thing=loose_in("box three"), step="in", place="box three")
    assert found(after(loose), "unlabelled") == [("unlabelled", "in", "box three", 1)]
    assert found(after(loose), "off") == []
    state = after(loose, PartRemoved(thing="kilo two", step="in", place="box three"))
    assert found(state, "unlabelled") == []
    assert list(state.off) == ["kilo two"]


def test_kit_counts_down_by_what_is_fitted_and_what_is_used_again() -> None:
    """A ring that was used again leaves a new one over only where the kit has more than were wanted."""
    ring, again = PartUsed(part="ring", step="fit"), PartReused(part="ring", step="fit", reason="still good")
    assert found(after(ring, again), "kit") == [("kit", "fit", "gasket", 1), ("kit", "fit", "ring", 1)]
    assert after(again).counted["fit", "use", "ring"] == 1
    assert after(again).departures == ()


def test_part_for_one_use_that_is_used_again_is_a_departure_and_stays_open() -> None:
    """The gasket that went on twice is told with its reason."""
    again = PartReused(part="gasket", step="fit", reason="part missing", departure=True)
    state = after(again)
    assert found(state, "reused") == [("reused", "fit", "gasket, part missing", 1)]
    assert [(departure.what, departure.reason) for departure in state.departures] == [
        ("gasket used again", "part missing")
    ]


def test_supply_is_open_only_where_its_step_is_done_without_it() -> None:
    """An open step speaks for itself."""
    assert found(after(), "supply") == []
    assert found(after(StepDone(step="fit")), "supply") == [("supply", "fit", "oil", 1)]
    assert found(after(SupplyApplied(step="fit", what="oil"), StepDone(step="fit")), "supply") == []


def test_every_one_of_these_can_be_taken_back() -> None:
    """After undo the state is what it was."""
    before = after(PartRemoved(thing="rod", step="in", place="bag one"))
    for event in (
        PartPlaced(thing="rod", step="in", place="bag two"),
        PartTold(thing="rod", step="in", about="mark", answer="one dot"),
        PartReturned(thing="rod", step="in"),
        LabelGiven(label="kilo two", step="in", note=1),
        PartUsed(part="ring", step="fit"),
        PartReused(part="gasket", step="fit", reason="damaged", departure=True),
        SupplyApplied(step="fit", what="oil"),
        ToolMoved(tool="rag", inside=True),
    ):
        state = after(PartRemoved(thing="rod", step="in", place="bag one"), event, Undone(turn=2))
        assert (state.off, state.labels, state.parts, state.reused, state.applied, state.inside) == (
            before.off,
            before.labels,
            before.parts,
            before.reused,
            before.applied,
            before.inside,
        )


def test_labels_and_loose_parts_are_told_from_names() -> None:
    """Only a letter of the spelling alphabet and a digit make a label."""
    assert is_label("bravo seven")
    assert is_label("x ray zero")
    assert not is_label("delta valve")
    assert not is_label("bravo")
    assert is_loose(loose_in("tray one"))
    assert not is_loose("loose part")
