from typing import Any

import pytest

from assistant.torque.group import FastenerGroup
from assistant.torque.plan import Act, acts_of_stage, expand, final_value, in_order, seated


def _group(**written: Any) -> FastenerGroup:
    return FastenerGroup.model_validate(written)


def _lines(group: FastenerGroup) -> list[str]:
    """Give each act as one line: position, kind, value, and whether it is final."""
    return [
        f"{act.position} {act.kind}{f' {act.value}' if act.value else ''}{' final' if act.final else ''}"
        for act in expand(group)
    ]


def test_shares_and_the_last_stage() -> None:
    """Shares become values of the final torque, pass by pass, and only the last stage is final."""
    group = _group(count=2, stages=["snug", {"share": "50 %"}, {"torque": "35 N.m"}])
    assert _lines(group) == [
        "1 snug",
        "2 snug",
        "1 torque 17.5 N.m",
        "2 torque 17.5 N.m",
        "1 torque 35 N.m final",
        "2 torque 35 N.m final",
    ]


def test_acts_carry_stage_and_where_a_position_comes_from() -> None:
    """Stages count from 1, and an act knows the stage its position has to be at."""
    group = _group(count=1, stages=["hand", {"torque": "5 N.m"}, {"angle": "90 deg"}])
    assert [(act.stage, act.stages, act.previous) for act in expand(group)] == [
        (1, 3, 0),
        (2, 3, 1),
        (3, 3, 2),
    ]
    assert [act.kind for act in acts_of_stage(expand(group), 2)] == ["torque"]


def test_a_back_off_is_tightened_again_before_the_next_is_touched() -> None:
    """Never two fasteners loose at once: back off one, tighten it, then the next."""
    group = _group(
        count=2,
        finals={1: "34 lbf.ft", 2: "24 lbf.ft"},
        stages=[{"torque": "15 lbf.ft"}, {"back_off": "1 turn"}, {"share": "100 %"}],
    )
    assert _lines(group) == [
        "1 torque 15 lbf.ft",
        "2 torque 15 lbf.ft",
        "1 back-off 1 turn",
        "1 torque 34 lbf.ft final",
        "2 back-off 1 turn",
        "2 torque 24 lbf.ft final",
    ]


def test_a_back_off_of_all_at_once_must_be_asked_for() -> None:
    """An author who wants all backed off first says so."""
    stages = [{"back_off": "1 turn", "one_at_a_time": False}, {"torque": "5 N.m"}]
    assert [act.position for act in expand(_group(count=2, stages=stages))] == [1, 2, 1, 2]


def test_a_rise_without_rounds_takes_as_many_as_it_takes() -> None:
    """Nobody knows how many quarter turns seat a part: one round is given, its number of rounds is open."""
    group = _group(count=2, stages=[{"rise": "1/4 turn", "until": "seated"}, {"torque": "20 lbf.ft"}])
    first, *_ = expand(group)
    assert (first.rounds, first.until, first.final, str(first.value)) == (0, "seated", False, "1/4 turn")


def test_a_rise_clicks_from_its_first_likely_round() -> None:
    """With rounds from two to three, the second and third should click, and the third is final."""
    rise = {"rise": "1/4 turn", "until": "18 lbf.ft", "rounds": [2, 3], "clicks": True}
    group = _group(count=1, stages=[rise])
    assert [(act.round, act.clicks, act.final) for act in expand(group)] == [
        (1, False, False),
        (2, True, False),
        (3, True, True),
    ]
    assert str(final_value(group, 1)) == "18 lbf.ft"


def test_a_rise_that_clicks_early_is_finished_early() -> None:
    """An act of a rise that seated before its last round can be taken as its last."""
    rise = {"rise": "1/4 turn", "until": "18 lbf.ft", "rounds": 3}
    early = expand(_group(count=1, stages=[rise]))[1]
    assert (early.final, seated(early).final) == (False, True)


def test_a_tool_is_replaced_before_its_position_is_tightened() -> None:
    """A position that holds a centring tool is left out until its fastener is in."""
    group = _group(
        layout={"circle": 4},
        centring=[1, 3],
        stages=["hand", {"centre": "45 lbf.in"}, {"replace": "45 lbf.in"}, {"torque": "110 lbf.in"}],
    )
    assert _lines(group)[:6] == [
        "2 hand",
        "4 hand",
        "1 centre 45 lbf.in",
        "3 centre 45 lbf.in",
        "1 replace 45 lbf.in",
        "3 replace 45 lbf.in",
    ]
    assert [act.position for act in expand(group) if act.final] == [1, 3, 2, 4]


def test_a_check_takes_each_positions_own_final() -> None:
    """The bare word check means the final torque, which may differ by position."""
    group = _group(count=2, finals={1: "34 N.m"}, stages=[{"torque": "24 N.m"}, "check"])
    assert _lines(group) == [
        "1 torque 34 N.m",
        "2 torque 24 N.m",
        "1 check 34 N.m final",
        "2 check 24 N.m final",
    ]


def test_a_final_angle_by_position_leaves_the_torque_alone() -> None:
    """A final that is an angle goes to the angle stage."""
    stages = [{"torque": "30 N.m"}, {"angle": "90 deg"}]
    group = _group(count=2, finals={2: "120 deg"}, stages=stages)
    assert [str(final_value(group, position)) for position in (1, 2)] == ["90 deg", "120 deg"]
    assert _lines(group)[1] == "2 torque 30 N.m"


def test_a_final_torque_by_position_survives_a_later_angle() -> None:
    """A final that is a torque goes to the last torque stage, also where an angle follows."""
    stages = [{"torque": "20 N.m"}, {"torque": "30 N.m"}, {"angle": "90 deg"}]
    group = _group(count=1, finals={1: "40 N.m"}, stages=stages)
    assert _lines(group) == ["1 torque 20 N.m", "1 torque 40 N.m", "1 angle 90 deg final"]


def test_stages_may_take_some_positions_only() -> None:
    """Each position's own last stage is final, whatever the others still have before them."""
    stages = [{"torque": "20 N.m"}, {"torque": "30 N.m", "positions": [2]}]
    assert _lines(_group(count=2, stages=stages)) == [
        "1 torque 20 N.m final",
        "2 torque 20 N.m",
        "2 torque 30 N.m final",
    ]


@pytest.mark.parametrize(
    ("stage", "ordered"),
    [
        ("hand", False),
        ("snug", False),
        ({"torque": "5 N.m"}, True),
        ({"torque": "5 N.m", "order": "any"}, False),
    ],
)
def test_order_matters_where_something_is_measured(stage: object, *, ordered: bool) -> None:
    """Hand-tight and snug may be done in any order; a torque pass with an order may not."""
    acts = expand(_group(layout={"circle": 4}, stages=[stage]))
    assert {act.ordered for act in acts} == {ordered}


def test_an_act_is_due_when_all_before_it_are_done() -> None:
    """Only acts whose order matters hold up the ones after them."""
    acts = expand(_group(layout={"circle": 4}, stages=["snug", {"torque": "5 N.m"}]))
    assert in_order(acts, set(), 4)
    assert not in_order(acts, {4}, 6)
    assert in_order(acts, {4, 5}, 6)


def test_a_group_without_stages_has_no_acts() -> None:
    """Nothing is planned where nothing was written."""
    assert expand(_group(count=4)) == ()
    assert final_value(_group(count=4), 1) is None


def test_acts_round_trip_as_json() -> None:
    """A plan can be written out as data and read again."""
    rise = {"rise": "1/4 turn", "until": "seated"}
    acts = expand(_group(layout={"circle": 4}, stages=[rise, {"torque": "5 N.m"}]))
    assert tuple(Act.model_validate_json(act.model_dump_json()) for act in acts) == acts
