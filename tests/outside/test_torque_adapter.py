"""Adapters against worked examples in print."""

import pytest

from assistant.torque.adapter import setting_for, target_of
from assistant.torque.rounding import rounded
from assistant.torque.units import read_quantity


# FAA AC 43.13-1B, chapter 7, torque wrench with adapters: 135 lbf.in wanted, lever 10 in, adapter 1.5 in
# (from memory; the same numbers seen reprinted in a maintenance manual).
@pytest.mark.parametrize(("angle", "setting"), [("0 deg", "117 lbf.in"), ("180 deg", "159 lbf.in")])
def test_the_handbooks_examples(angle: str, setting: str) -> None:
    """In line the wrench is set to 117 inch pounds, pointing back to 159."""
    adapted = setting_for(
        read_quantity("135 lbf.in"), read_quantity("10 in"), read_quantity("1.5 in"), read_quantity(angle)
    )
    assert rounded(adapted.setting, read_quantity("1 lbf.in")) == read_quantity(setting)


def test_a_four_inch_attachment() -> None:
    """US Army TM 1-1500-204-23-9, chapter 8: 300 lbf.in, lever 10 in, attachment 4 in: 214 lbf.in."""
    adapted = setting_for(read_quantity("300 lbf.in"), read_quantity("10 in"), read_quantity("4 in"))
    assert rounded(adapted.setting, read_quantity("1 lbf.in")) == read_quantity("214 lbf.in")


def test_from_setting_to_torque() -> None:
    """US Army TM 9-254: a wrench of 12 in set to 60 lbf.in gives 70 lbf.in through an extension of 2 in."""
    adapted = target_of(read_quantity("60 lbf.in"), read_quantity("12 in"), read_quantity("2 in"))
    assert adapted.target == read_quantity("70 lbf.in")
