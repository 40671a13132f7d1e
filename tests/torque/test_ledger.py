from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.torque.group import FastenerGroup
from assistant.torque.ledger import (
    Again,
    PositionRecord,
    Standing,
    after,
    begun_afresh,
    describe,
    is_open,
    marked,
    reopened,
    turned,
)
from assistant.torque.plan import Act, expand, in_order

UNTOUCHED = PositionRecord()
STAGES: list[Any] = ["hand", "snug", {"share": "50 %"}, {"torque": "60 N.m"}, {"angle": "90 deg"}, "check"]


def _acts(stages: list[Any], **written: Any) -> tuple[Act, ...]:
    return expand(FastenerGroup.model_validate({"layout": {"circle": 4}, "stages": stages, **written}))


def _worked(acts: tuple[Act, ...], turns: list[int]) -> dict[int, PositionRecord]:
    """Fold acts, by their indices, as somebody might do them."""
    records = dict.fromkeys((act.position for act in acts), UNTOUCHED)
    done: set[int] = set()
    for index in turns:
        act = acts[index]
        records[act.position] = after(records[act.position], act, in_order=in_order(acts, done, index))
        done.add(index)
    return records


TABLE = [
    ("hand", Standing.HAND, "fastener"),
    ("snug", Standing.SNUG, "fastener"),
    ({"torque": "5 N.m"}, Standing.STAGE, "fastener"),
    ({"rise": "1/4 turn", "until": "seated"}, Standing.STAGE, "fastener"),
    ({"back_off": "1 turn"}, Standing.DOUBTFUL, "nothing"),
    ({"centre": "5 N.m"}, Standing.STAGE, "tool"),
    ("centre", Standing.HAND, "tool"),
]


def test_a_round_without_a_seat_puts_the_fastener_in() -> None:
    """Who has turned a bolt by a quarter has touched it; what was reached before stays so."""
    begun = turned(begun_afresh("stripped; new bolt"))
    assert (begun.standing, begun.holds, begun.why) == (Standing.HAND, "fastener", "stripped; new bolt")
    snug = PositionRecord(standing=Standing.SNUG, holds="fastener", stage=1, stages=3)
    assert turned(snug) == snug
    assert turned(marked(snug, Standing.DAMAGED, "broken")).standing is Standing.DAMAGED


@pytest.mark.parametrize(("stage", "standing", "holds"), TABLE)
def test_what_an_act_makes_of_an_empty_position(stage: Any, standing: Standing, holds: str) -> None:
    """Each kind of act leads to its own standing, with a fastener or a tool in the position."""
    tools = {"centring": [1, 2, 3, 4]} if "centre" in stage else {}
    replace = ["replace"] if tools else []
    act = _acts([stage, *replace, {"torque": "9 N.m"}], **tools)[0]
    record = after(UNTOUCHED, act, in_order=True)
    assert (record.standing, record.holds) == (standing, holds)


def test_a_plan_done_in_its_order_ends_final() -> None:
    """Every position is final after all acts in order, and nothing is open."""
    acts = _acts(STAGES)
    records = _worked(acts, list(range(len(acts))))
    assert all(record.standing is Standing.FINAL and not is_open(record) for record in records.values())


def test_a_stage_tells_how_far_it_is() -> None:
    """In the middle of a plan a position is at stage k of n with its value."""
    acts = _acts(STAGES)
    record = _worked(acts, list(range(12)))[1]
    assert describe(record) == {
        "standing": "at a stage",
        "stage": "3 of 6",
        "value": "30 N.m",
        "holds": "fastener",
    }


def test_out_of_order_is_doubtful_where_order_matters() -> None:
    """A torque pass taken out of turn leaves a doubt that says so."""
    acts = _acts([{"torque": "60 N.m"}])
    record = after(UNTOUCHED, acts[2], in_order=False)
    assert (record.standing, record.why) == (Standing.DOUBTFUL, "stage 1 was done out of order")


def test_out_of_order_is_no_matter_where_order_is_none() -> None:
    """Snugging in any order is how it is done."""
    assert after(UNTOUCHED, _acts(["snug", {"torque": "5 N.m"}])[3], in_order=False).standing is Standing.SNUG


def test_doubt_about_order_goes_when_the_stage_is_done_again() -> None:
    """The same stage again, in its turn, heals the doubt."""
    act = _acts([{"torque": "60 N.m"}])[2]
    doubtful = after(UNTOUCHED, act, in_order=False)
    assert after(doubtful, act, in_order=True).standing is Standing.FINAL


def test_doubt_about_order_stays_through_later_stages() -> None:
    """A later stage does not make an earlier one right."""
    acts = _acts([{"share": "50 %"}, {"torque": "60 N.m"}])
    doubtful = after(UNTOUCHED, acts[2], in_order=False)
    later = after(doubtful, acts[6], in_order=True)
    assert (later.standing, later.stage, later.why) == (Standing.DOUBTFUL, 2, "stage 1 was done out of order")


def test_an_angle_from_below_its_threshold_is_doubtful() -> None:
    """An angle counts from the torque before it, or for nothing."""
    angle = _acts([{"torque": "30 N.m"}, {"angle": "90 deg"}], order="any")[4]
    record = after(UNTOUCHED, angle, in_order=True)
    assert (record.standing, record.why) == (
        Standing.DOUBTFUL,
        "turned 90 deg from below its threshold torque",
    )


def test_a_back_off_is_doubtful_until_tightened_again() -> None:
    """A loosened fastener is open, even one that was final, and its next tightening settles it."""
    acts = _acts([{"torque": "15 N.m"}, {"back_off": "1 turn"}, {"torque": "34 N.m"}])
    loose = after(
        PositionRecord(standing=Standing.FINAL, stage=3, stages=3, holds="fastener"), acts[4], in_order=True
    )
    assert (loose.standing, loose.why) == (Standing.DOUBTFUL, "backed off 1 turn and not tightened again")
    assert after(loose, acts[5], in_order=True).standing is Standing.FINAL


def test_a_rise_ends_with_the_torque_that_clicked() -> None:
    """What is recorded of a finished rise is the torque, not the quarter turn."""
    rise = {"rise": "1/4 turn", "until": "18 lbf.ft", "rounds": 1}
    assert str(after(UNTOUCHED, _acts([rise])[0], in_order=True).value) == "18 lbf.ft"


def test_a_replaced_tool_leaves_a_fastener() -> None:
    """After the replacement the position holds its fastener, and is not finished yet."""
    acts = _acts(["centre", {"replace": "5 N.m"}, {"torque": "9 N.m"}], centring=[1, 3])
    held = after(UNTOUCHED, acts[0], in_order=True)
    replaced = after(held, acts[2], in_order=True)
    assert (held.holds, replaced.holds, replaced.standing) == ("tool", "fastener", Standing.STAGE)


def test_damage_stays_until_somebody_decides() -> None:
    """Tightening a damaged position does not mend it; marking it does."""
    damaged = marked(UNTOUCHED, Standing.DAMAGED, "stripped")
    act = _acts([{"torque": "60 N.m"}])[0]
    assert after(damaged, act, in_order=True) == damaged
    begun_afresh = marked(damaged, Standing.UNTOUCHED, "thread insert fitted")
    assert (begun_afresh.standing, begun_afresh.holds, begun_afresh.why) == (
        Standing.UNTOUCHED,
        "nothing",
        "thread insert fitted",
    )


def test_what_was_mended_stays_known() -> None:
    """A thread insert is still there once its bolt is tight, backed off, doubted or sound again."""
    record = begun_afresh("said to be stripped; thread insert", "said to be stripped; thread insert")
    for act in _acts(["snug", {"torque": "15 N.m"}, {"back_off": "1 turn"}, {"torque": "60 N.m"}])[::4]:
        record = after(record, act, in_order=True)
        assert record.mended == "said to be stripped; thread insert"
    assert marked(record, Standing.DOUBTFUL, "").mended == record.mended
    assert marked(record, Standing.UNTOUCHED, "").mended == record.mended


def test_a_mark_keeps_what_is_known() -> None:
    """Marking doubtful keeps stage and value beside the reason."""
    done = after(UNTOUCHED, _acts([{"torque": "60 N.m"}])[0], in_order=True)
    doubtful = marked(done, Standing.DOUBTFUL, "the wrench was changed")
    assert (doubtful.stage, str(doubtful.value), doubtful.why) == (1, "60 N.m", "the wrench was changed")
    assert is_open(doubtful)


ACTS = _acts(STAGES)
orders = st.lists(st.integers(min_value=0, max_value=len(ACTS) - 1), max_size=40)


@given(turns=orders)
def test_final_means_that_the_last_stage_was_done(turns: list[int]) -> None:
    """However acts are shuffled, no position is final without its own final act."""
    records = _worked(ACTS, turns)
    finished = {ACTS[index].position for index in turns if ACTS[index].final}
    assert {position for position, record in records.items() if not is_open(record)} <= finished


@given(turns=orders, index=st.integers(min_value=0, max_value=len(ACTS) - 1))
def test_final_stays_final(turns: list[int], index: int) -> None:
    """No tightening act makes a final position anything else."""
    final = PositionRecord(standing=Standing.FINAL, stage=6, stages=6, holds="fastener")
    record = final
    for turn in [*turns, index]:
        record = after(record, ACTS[turn], in_order=False)
    assert record == final


@given(turns=orders)
def test_a_stage_is_never_lost(turns: list[int]) -> None:
    """A position's stage never goes back as acts are done."""
    record, stages = UNTOUCHED, [0]
    for turn in turns:
        record = after(record, ACTS[turn], in_order=True)
        stages.append(record.stage)
    assert stages == sorted(stages)


@given(turns=orders)
def test_records_round_trip_as_json(turns: list[int]) -> None:
    """A record is plain data."""
    for record in _worked(ACTS, turns).values():
        assert PositionRecord.model_validate_json(record.model_dump_json()) == record


@pytest.mark.parametrize("because", get_args(Again))
def test_what_is_to_be_done_again_is_doubtful_until_it_is(because: Again) -> None:
    """A pass left in the middle or a changed wrench puts a position in doubt; its stage in turn takes it away."""
    acts = _acts([{"torque": "30 N.m"}, {"torque": "60 N.m"}])
    once = after(UNTOUCHED, acts[0], in_order=True)
    doubtful = reopened(once, because)
    assert (doubtful.standing, doubtful.doubt) == (Standing.DOUBTFUL, because)
    assert after(doubtful, acts[0], in_order=True).standing is Standing.STAGE


def test_a_later_stage_does_not_heal_a_broken_off_pass() -> None:
    """Sixty on top of a doubtful thirty is still in doubt."""
    acts = _acts([{"torque": "30 N.m"}, {"torque": "60 N.m"}])
    doubtful = reopened(after(UNTOUCHED, acts[0], in_order=True), "interrupted")
    assert after(doubtful, acts[4], in_order=True).standing is Standing.DOUBTFUL


def test_a_mended_position_begins_from_nothing() -> None:
    """With a new fastener nothing of what was done before counts, and what was done about it is told."""
    record = begun_afresh("said to be stripped; thread insert")
    assert (record.standing, record.stage, record.holds) == (Standing.UNTOUCHED, 0, "nothing")
    assert describe(record)["why"] == "said to be stripped; thread insert"
