from typing import Any

import pytest

from assistant.procedure.load import examples, find_procedure, load_procedure
from assistant.torque.group import FastenerGroup
from assistant.torque.units import read_quantity
from assistant.torque.values import DoubtedValue, doubted_values

SMALL = {"count": 4, "thread": "1/4-20", "class": "SAE 5", "condition": "dry"}
MIDDLE = {"count": 2, "thread": "M10", "class": "10.9", "condition": "oiled"}


def _doubted(about: dict[str, Any], *stages: Any, **written: Any) -> tuple[DoubtedValue, ...]:
    return doubted_values(FastenerGroup.model_validate({**about, "stages": stages, **written}))


def test_a_slip_of_the_unit_is_found_in_a_plan() -> None:
    """Foot pounds that were meant as inch pounds are found with their stage and their positions."""
    (found,) = _doubted(SMALL, "snug", {"torque": "60 lbf.in"}, {"torque": "110 lbf.ft"})
    assert (found.stage, found.positions, found.verdict.finding) == (3, (1, 2, 3, 4), "unit slip")
    assert found.verdict.meant == read_quantity("110 lbf.in")


def test_only_the_positions_that_differ_are_named() -> None:
    """A final value of its own is judged for its own position."""
    (found,) = _doubted(SMALL, {"torque": "110 lbf.in"}, finals={3: "110 lbf.ft"})
    assert found.positions == (3,)


def test_a_little_on_the_way_is_nothing_to_find() -> None:
    """First passes and threshold torques are small on purpose."""
    assert not _doubted(MIDDLE, {"torque": "5 N.m"}, {"torque": "60 N.m"})
    assert not _doubted(MIDDLE, {"torque": "5 N.m"}, {"angle": "90 deg"})


def test_a_little_at_the_end_is_found() -> None:
    """A last value that hardly tightens is low, or another unit was meant."""
    (found,) = _doubted(MIDDLE, {"torque": "5 N.m"})
    assert found.verdict.finding == "unit slip"
    assert found.verdict.meant == read_quantity("5 kgf.m")


def test_too_much_on_the_way_is_found() -> None:
    """A fastener breaks in the first pass as well as in the last."""
    (found,) = _doubted(MIDDLE, {"torque": "120 N.m"}, {"back_off": "1 turn"}, {"torque": "60 N.m"})
    assert (found.stage, found.verdict.finding) == (1, "beyond proof")


def test_the_end_of_a_rise_is_judged() -> None:
    """Quarter turns up to a torque end in that torque."""
    (found,) = _doubted(SMALL, {"rise": "1/4 turn", "until": "110 lbf.ft", "rounds": [2, 3]})
    assert found.value == read_quantity("110 lbf.ft")


def test_shallow_threads_in_aluminium_bear_less() -> None:
    """What steel would bear strips a short thread in aluminium."""
    steel = {"count": 1, "thread": "M8", "class": "8.8", "condition": "oiled"}
    assert not _doubted(steel, {"torque": "25 N.m"})
    (found,) = _doubted({**steel, "into": "aluminium", "engagement": "6 mm"}, {"torque": "25 N.m"})
    assert found.verdict.finding == "beyond proof"


@pytest.mark.parametrize("missing", ["thread", "class"])
def test_without_thread_or_class_nothing_is_judged(missing: str) -> None:
    """What a fastener is made of has to be written before its values can be judged."""
    about = {key: value for key, value in SMALL.items() if key != missing}
    assert not _doubted(about, {"torque": "110 lbf.ft"})


def test_a_thread_that_is_not_listed_is_not_judged() -> None:
    """A special thread is no mistake."""
    assert not _doubted({**SMALL, "thread": "G 1/4"}, {"torque": "110 lbf.ft"})


@pytest.mark.parametrize("name", examples())
def test_the_shipped_procedures_can_be_meant(name: str) -> None:
    """No value of a demonstration is doubted."""
    procedure = load_procedure(find_procedure(name))
    assert not [found for group in procedure.groups.values() for found in doubted_values(group)]
