from typing import Any

import pytest
from pydantic import ValidationError

from assistant.torque.group import FastenerGroup

WHOLE: dict[str, Any] = {
    "name": "head-bolts",
    "count": 8,
    "thread": "M10x1.25",
    "class": 10.9,
    "condition": "oiled",
    "layout": {"rectangle": "2x4"},
    "lengths": {1: "80 mm", 4: "100 mm"},
    "finals": {1: "120 deg"},
    "retorque_after_heat": True,
    "stages": ["hand", {"share": "50 %"}, {"torque": "60 N.m"}, {"angle": "90 deg"}],
}


def test_a_group_reads_back_from_its_own_json() -> None:
    """What is written out is read in again unchanged, by name or by alias."""
    group = FastenerGroup.model_validate(WHOLE)
    assert FastenerGroup.model_validate_json(group.model_dump_json()) == group
    assert FastenerGroup.model_validate_json(group.model_dump_json(by_alias=True, exclude_none=True)) == group


def test_a_class_written_as_a_number_is_taken() -> None:
    """YAML reads 10.9 as a number; the class is still its name."""
    assert FastenerGroup.model_validate(WHOLE).property_class == "10.9"


def test_the_count_may_follow_from_the_layout() -> None:
    """A layout counts its own positions."""
    assert FastenerGroup.model_validate({"layout": {"circle": 6}}).count == 6


MISTAKES: list[tuple[dict[str, Any], str]] = [
    ({"count": 3, "order": [1, 2, 2]}, "order must have each of 1, 2, 3 once: 2 twice; 3 missing"),
    ({"count": 2, "order": [1, 2, 3]}, "3 not of these"),
    ({"count": 3, "layout": {"circle": 4}}, "count says 3 and the layout has 4; make them agree"),
    ({"layout": {"circle": 4, "line": 4}}, "this has 2 of them"),
    ({"layout": {"points": [[0, 0], [0, 0]]}}, "lie in one place"),
    ({"count": 2, "finals": {3: "5 N.m"}}, "finals names position 3; the group has 1 to 2"),
    ({"count": 2, "lengths": {1: "5 N.m"}}, "5 N.m is a torque where a length is needed"),
    ({"count": 2, "stages": ["hnd"]}, "'hnd' is no stage; write hand, snug"),
    ({"count": 2, "stages": [{"torque": 5}]}, "5 is a bare number; write its unit, such as 5 N.m"),
    ({"count": 2, "stages": [{"torque": "5 N.m", "angle": "9 deg"}]}, "this one has torque and angle"),
    ({"count": 2, "stages": [{"clicks": True}]}, "this one has none"),
    ({"count": 2, "stages": [{"share": "50 %"}]}, "stage 1: no final torque is known for position 1, 2"),
    ({"count": 2, "stages": [{"back_off": "1 turn"}]}, "leave position 1 after back-off"),
    ({"count": 2, "stages": [{"torque": "5 N.m", "positions": [3]}]}, "stage 1 names position 3"),
    (
        {"count": 2, "stages": [{"torque": "5 N.m", "order": [1]}]},
        "stage 1: order must have each of 1, 2 once",
    ),
    ({"count": 2, "stages": [{"torque": "5 N.m", "rounds": 3}]}, "until and rounds belong to a rise"),
    ({"count": 2, "stages": [{"rise": "1/4 turn"}]}, "a rise needs its end"),
    ({"count": 2, "stages": [{"rise": "1/4 turn", "rounds": [3, 2]}]}, "rounds run from 3 down to 2"),
    ({"count": 2, "centring": [1], "stages": ["hand"]}, "centring tools in 1 need one stage"),
    ({"count": 2, "stages": ["centre"]}, "need the positions of the tools"),
    (
        {"count": 2, "centring": [1], "stages": ["centre", {"torque": "5 N.m", "positions": [1]}, "replace"]},
        "position 1 still holds its centring tool; replace it first",
    ),
    ({"count": 2, "torqe": "5 N.m"}, "Extra inputs are not permitted"),
]


@pytest.mark.parametrize(("written", "message"), MISTAKES, ids=[message for _, message in MISTAKES])
def test_an_authors_mistake_is_told(written: dict[str, Any], message: str) -> None:
    """A group that cannot be says what is wrong with it."""
    with pytest.raises(ValidationError) as caught:
        FastenerGroup.model_validate(written)
    assert message in str(caught.value)


def test_without_layout_or_order_the_order_does_not_matter() -> None:
    """Fasteners that nobody arranged are counted through, and any order will do."""
    group = FastenerGroup.model_validate({"count": 3, "stages": [{"torque": "5 N.m"}]})
    assert (group.sequence(), group.order_matters()) == ((1, 2, 3), False)


@pytest.mark.parametrize(
    ("order", "sequence", "matters"),
    [
        ("derived", (1, 3, 2, 4), True),
        ("crosswise", (1, 3, 2, 4), True),
        ("numeric", (1, 2, 3, 4), True),
        ("any", (1, 2, 3, 4), False),
        ([4, 3, 2, 1], (4, 3, 2, 1), True),
    ],
)
def test_an_order_is_listed_or_named(order: object, sequence: tuple[int, ...], *, matters: bool) -> None:
    """An author lists the order, names a pattern, or says that any will do."""
    group = FastenerGroup.model_validate({"layout": {"circle": 4}, "order": order})
    assert (group.sequence(), group.order_matters()) == (sequence, matters)


def test_a_stage_may_have_its_own_order() -> None:
    """The order of one stage leaves the others alone."""
    group = FastenerGroup.model_validate(
        {"layout": {"circle": 4}, "stages": ["snug", {"torque": "5 N.m", "order": [2, 4, 1, 3]}]}
    )
    assert [group.sequence(stage) for stage in group.stages] == [(1, 3, 2, 4), (2, 4, 1, 3)]


def test_coordinates_may_carry_units() -> None:
    """Points are in millimetres unless they say otherwise."""
    group = FastenerGroup.model_validate({"layout": {"points": [[0, 0], ["1 in", 5], ["2 cm", "-5 mm"]]}})
    assert group.points() == ((0.0, 0.0), (25.4, 5.0), (20.0, -5.0))


def test_shares_are_taken_of_the_positions_own_final() -> None:
    """A position with its own final torque takes its shares of that."""
    group = FastenerGroup.model_validate(
        {"count": 2, "finals": {2: "80 N.m"}, "stages": [{"share": "50 %"}, {"torque": "60 N.m"}]}
    )
    assert [str(group.final_torque(position)) for position in group.positions] == ["60 N.m", "80 N.m"]


def test_the_spoken_name_is_words() -> None:
    """A key of the file is spoken as words unless the author says how."""
    assert FastenerGroup(name="head-bolts", count=1).spoken == "head bolts"
    assert FastenerGroup(name="hb", count=1, say="the head bolts").spoken == "the head bolts"
