import datetime as dt
from typing import Any

from assistant.torque.group import FastenerGroup
from assistant.torque.plan import expand, torque_of
from assistant.torque.wrench import Shop
from assistant.work.tooling import Tooling, tools_for

TODAY = dt.date(2026, 6, 1)
WRENCH = {
    "name": "middle",
    "least": "5 N.m",
    "most": "60 N.m",
    "resolution": "0.5 N.m",
    "calibrated": "2026-03-31",
}
SHOP = Shop.model_validate({"wrenches": [WRENCH]})


def _tooling(shop: Shop = SHOP, **written: Any) -> Tooling:
    group = FastenerGroup.model_validate(written)
    return tools_for(group, expand(group), shop, TODAY)


def test_only_a_torque_needs_a_wrench() -> None:
    """Hand, snug, angle and back-off take no torque wrench; a rise takes one for the torque it ends in."""
    stages = [
        "snug",
        {"torque": "20 N.m"},
        {"angle": "90 deg"},
        {"back_off": "1 turn"},
        {"rise": "1/4 turn", "until": "30 N.m"},
    ]
    choices = _tooling(count=1, stages=stages).choices
    assert [str(choice.setting) if choice else None for choice in choices] == [
        None,
        "20.0 N.m",
        None,
        None,
        "30.0 N.m",
    ]


def test_each_finding_is_told_once() -> None:
    """What is wrong at many positions is one finding, in the order in which it is met."""
    stages = [{"torque": "8 N.m"}, {"torque": "90 N.m"}]
    tooling = _tooling(count=4, left_hand=True, stages=stages)
    assert [bool(choice) for choice in tooling.choices] == [True] * 4 + [False] * 4
    below, left, none = tooling.findings
    assert "below a fifth" in below
    assert "left-handed" in left
    assert "no wrench of the shop reaches 90 N.m" in none


def test_calibration_is_told_once() -> None:
    """A calibration that is too old is told once, and one in date not at all."""
    old = Shop.model_validate({"wrenches": [{**WRENCH, "calibrated": "2024-03-31"}]})
    stages = [{"torque": "20 N.m"}]
    (told,) = _tooling(old, count=4, stages=stages).findings
    assert "months ago" in told
    assert _tooling(count=4, stages=stages).findings == ()


def test_shop_without_wrenches_finds_nothing() -> None:
    """Where the shop has no list, there is no tool and no finding."""
    assert _tooling(Shop(), count=1, stages=[{"torque": "20 N.m"}]) == Tooling((None,), ())


def test_torque_of_an_act_by_hand_is_none() -> None:
    """An act by hand ends in no torque."""
    assert torque_of(expand(FastenerGroup(count=1, stages=("hand",)))[0]) is None
