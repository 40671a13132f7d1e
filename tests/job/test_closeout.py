from datetime import UTC, datetime

from assistant.job.closeout import after_heat, open_items
from assistant.job.events import (
    Entry,
    Event,
    Measured,
    MeasurementAccepted,
    PartUsed,
    PositionWorked,
    StepDone,
    StepSkipped,
    SupplyApplied,
    TimerStarted,
    TimerStopped,
    ToolMoved,
)
from assistant.job.fold import replay
from assistant.job.state import JobState
from assistant.procedure.load import find_procedure, load_procedure
from assistant.procedure.route import route_through
from assistant.torque.ledger import Standing
from assistant.torque.units import read_quantity

ROUTE = route_through(load_procedure(find_procedure("generator-set-head")), "head")
AT = datetime(2026, 3, 2, 8, tzinfo=UTC)


def after(*events: Event) -> JobState:
    """Give the state after these events."""
    return replay(Entry(seq=n, turn=n, at=AT, event=event) for n, event in enumerate(events, start=1))


def worked(group: str, *numbers: int) -> tuple[Event, ...]:
    """Work acts of a group's plan."""
    return tuple(PositionWorked(group=group, number=n, act=ROUTE.plans[group][n]) for n in numbers)


ALL_DONE: tuple[Event, ...] = (
    *(event for group, plan in ROUTE.plans.items() for event in worked(group, *range(len(plan)))),
    *(StepDone(step=step.step) for step in ROUTE.steps),
    *(PartUsed(part=part, step=step.step) for step in ROUTE.steps for part in step.use),
    *(
        SupplyApplied(step=step.step, what=supply.what)
        for step in ROUTE.steps
        for supply in ROUTE.supplies(step)
    ),
)


def kinds(state: JobState) -> list[str]:
    """Name the kinds of what is open."""
    return [item.kind for item in open_items(ROUTE, state)]


def test_nothing_is_open_when_all_is_done() -> None:
    """A whole job has an empty list."""
    assert kinds(after(*ALL_DONE)) == []


def test_positions_that_share_a_standing_are_one_item() -> None:
    """The screw that is only snug is told apart from those that are final."""
    state = after(*worked("cover screws", 0, 1, 2, 3, 4, 5, 6))
    items = {(item.group, item.standing): item for item in open_items(ROUTE, state)}
    assert items["cover screws", Standing.SNUG].positions == (4,)
    assert items["cover screws", Standing.SNUG].step == "cover-screws"
    assert items["head bolts", Standing.UNTOUCHED].positions == tuple(range(1, 9))


def test_group_points_at_the_step_that_makes_it_final() -> None:
    """Head bolts that are only snug lead to the step of their final torque."""
    state = after(*worked("head bolts", *range(8)))
    assert [item.step for item in open_items(ROUTE, state) if item.group == "head bolts"] == ["head-torque"]


def test_what_went_in_and_did_not_come_out_is_open() -> None:
    """A locking pin that is still inside is named, with the step that takes it out."""
    state = after(*ALL_DONE, ToolMoved(tool="locking pin", inside=True))
    (item,) = open_items(ROUTE, state)
    assert (item.kind, item.what, item.step) == ("inside", "locking pin", "pin-out")


def test_kit_that_is_left_over_is_open() -> None:
    """A gasket that was not fitted is named."""
    state = after(*(event for event in ALL_DONE if not isinstance(event, PartUsed)))
    assert sorted(item.what for item in open_items(ROUTE, state)) == ["cover gasket", "head gasket"]


def test_measurement_outside_its_limits_is_open_until_accepted() -> None:
    """A bad value stays open; one that was accepted with a reason does not."""
    bad = Measured(step="head-flatness", value=read_quantity("0.09 mm"), verdict="above")
    accepted = MeasurementAccepted(step="head-flatness", reason="on instruction")
    assert kinds(after(*ALL_DONE, bad)) == ["measurement"]
    assert kinds(after(*ALL_DONE, bad, accepted)) == []


def test_measurement_put_off_stays_open() -> None:
    """To do it later is no reason for a bad value to stand."""
    bad = Measured(step="head-flatness", value=read_quantity("0.09 mm"), verdict="above")
    put_off = MeasurementAccepted(step="head-flatness", reason="do it later")
    assert kinds(after(*ALL_DONE, bad, put_off)) == ["measurement"]


def test_wait_that_was_cut_short_is_open() -> None:
    """Stopping a wait early is not forgotten."""
    started, stopped = (
        TimerStarted(step="bleed-down", seconds=2700),
        TimerStopped(step="bleed-down", left_s=9),
    )
    assert kinds(after(*ALL_DONE, started, stopped)) == ["wait"]


def test_steps_not_done_and_left_out_are_open() -> None:
    """Steps count as open when nothing was said of them, and when they were left out."""
    done = [event for event in ALL_DONE if event != StepDone(step="push-rods")]
    assert kinds(after(*done)) == ["step"]
    assert kinds(after(*done, StepSkipped(step="push-rods", reason="later"))) == ["skipped"]


def test_what_is_tightened_after_the_first_heat_is_named() -> None:
    """It cannot be done before the machine has run, so it is told and is not an open item."""
    procedure = ROUTE.procedure
    hot = procedure.groups["head bolts"].model_copy(update={"retorque_after_heat": True})
    groups = {**procedure.groups, "head bolts": hot}
    assert after_heat(ROUTE) == ()
    assert after_heat(route_through(procedure.model_copy(update={"groups": groups}))) == ("head bolts",)
