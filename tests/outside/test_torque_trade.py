"""Facts of the trade: common practice, no source."""

from typing import Any

import pytest

from assistant.torque.group import FastenerGroup
from assistant.torque.ledger import PositionRecord, Standing, after
from assistant.torque.plan import Act, expand, in_order
from assistant.torque.strength import judge
from assistant.torque.units import read_quantity


def _acts(**written: Any) -> tuple[Act, ...]:
    return expand(FastenerGroup.model_validate(written))


def _values(acts: tuple[Act, ...]) -> list[tuple[int, str, str]]:
    return [(act.position, act.kind, str(act.value)) for act in acts]


def _all_final(acts: tuple[Act, ...]) -> bool:
    """Work the whole plan in its order and tell whether every position ends final."""
    records: dict[int, PositionRecord] = {}
    for index, act in enumerate(acts):
        due = in_order(acts, set(range(index)), index)
        records[act.position] = after(records.get(act.position, PositionRecord()), act, in_order=due)
    return all(record.standing is Standing.FINAL for record in records.values())


@pytest.mark.parametrize(("torque", "grade"), [("110 lbf.in", "SAE 5"), ("140 lbf.in", "SAE 8")])
def test_small_cover_screws(torque: str, grade: str) -> None:
    """1/4-20 cover screws are tightened to 110 and 140 inch pounds (common practice, no source)."""
    assert judge("1/4-20", grade, read_quantity(torque), "dry").clean


@pytest.mark.parametrize("grade", ["SAE 2", "SAE 5", "SAE 8", "12.9"])
@pytest.mark.parametrize("condition", [None, "dry", "oiled"])
def test_foot_pounds_on_a_small_screw_are_a_slip(grade: str, condition: str | None) -> None:
    """110 foot pounds on a 1/4-20 screw are caught, whatever its strength (common practice, no source)."""
    assert not judge("1/4-20", grade, read_quantity("110 lbf.ft"), condition).clean


def test_the_slip_is_named() -> None:
    """For an ordinary screw, inch pounds are named as what was meant (common practice, no source)."""
    assert judge("1/4-20", "SAE 5", read_quantity("110 lbf.ft")).meant == read_quantity("110 lbf.in")


def test_a_pair_of_sprocket_bolts() -> None:
    """15 foot pounds, back off one turn one at a time, then 34 and 24 (common practice, no source)."""
    acts = _acts(
        count=2,
        finals={1: "34 lbf.ft", 2: "24 lbf.ft"},
        stages=[{"torque": "15 lbf.ft"}, {"back_off": "1 turn"}, {"share": "100 %"}],
    )
    assert _values(acts) == [
        (1, "torque", "15 lbf.ft"),
        (2, "torque", "15 lbf.ft"),
        (1, "back-off", "1 turn"),
        (1, "torque", "34 lbf.ft"),
        (2, "back-off", "1 turn"),
        (2, "torque", "24 lbf.ft"),
    ]
    assert _all_final(acts)


def test_a_pump_centred_by_two_tools() -> None:
    """Two tools to 45 inch pounds, each replaced by its bolt at 45, then all at 110 crosswise.

    Common practice, no source.
    """
    acts = _acts(
        layout={"circle": 4},
        centring=[1, 3],
        stages=["hand", {"centre": "45 lbf.in"}, {"replace": "45 lbf.in"}, {"torque": "110 lbf.in"}],
    )
    assert _values(acts)[2:] == [
        (1, "centre", "45 lbf.in"),
        (3, "centre", "45 lbf.in"),
        (1, "replace", "45 lbf.in"),
        (3, "replace", "45 lbf.in"),
        (1, "torque", "110 lbf.in"),
        (3, "torque", "110 lbf.in"),
        (2, "torque", "110 lbf.in"),
        (4, "torque", "110 lbf.in"),
    ]
    assert _all_final(acts)


def test_a_carrier_pulled_down_by_quarter_turns() -> None:
    """Quarter turns in order until seated, then 20 foot pounds (common practice, no source)."""
    acts = _acts(
        count=4,
        order=[2, 3, 1, 4],
        stages=[{"rise": "1/4 turn", "until": "seated"}, {"torque": "20 lbf.ft"}],
    )
    assert [act.position for act in acts] == [2, 3, 1, 4] * 2
    assert {str(act.value) for act in acts} == {"1/4 turn", "20 lbf.ft"}
    assert _all_final(acts)


def test_covers_that_click_on_the_second_or_third_round() -> None:
    """Covers at 18 foot pounds by quarter turns click on the second or third round.

    Common practice, no source.
    """
    rise = {"rise": "1/4 turn", "until": "18 lbf.ft", "rounds": [2, 3], "clicks": True}
    acts = _acts(layout={"circle": 6}, stages=[rise])
    assert {act.round for act in acts if act.clicks} == {2, 3}
    assert _all_final(acts)
