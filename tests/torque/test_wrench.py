import datetime as dt
from typing import Any

import pytest
from pydantic import ValidationError

from assistant.errors import TorqueError
from assistant.torque.adapter import setting_for
from assistant.torque.units import Quantity, read_quantity
from assistant.torque.wrench import Shop, TorqueWrench, choose

SMALL = {
    "name": "small",
    "drive": "1/4 in",
    "least": "20 lbf.in",
    "most": "200 lbf.in",
    "resolution": "1 lbf.in",
}
MIDDLE = {"name": "middle", "least": "5 N.m", "most": "60 N.m", "resolution": "0.5 N.m"}
LARGE = {"name": "large", "kind": "beam", "least": "20 N.m", "most": "200 N.m", "resolution": "5 N.m"}
SHOP = Shop.model_validate({"wrenches": [LARGE, SMALL, MIDDLE]})


@pytest.mark.parametrize(
    ("target", "name", "setting"),
    [
        ("110 lbf.in", "small", "110 lbf.in"),
        ("12 N.m", "middle", "12.0 N.m"),
        ("45 N.m", "middle", "45.0 N.m"),
        ("100 N.m", "large", "100 N.m"),
        ("18 lbf.ft", "middle", "24.5 N.m"),
    ],
)
def test_the_wrench_for_a_value(target: str, name: str, setting: str) -> None:
    """The smallest wrench without doubts is chosen, one in the value's own unit first."""
    choice = choose(SHOP, read_quantity(target))
    assert (choice.wrench.name, str(choice.setting), choice.doubts) == (name, setting, ())


def test_a_value_outside_every_range_is_refused() -> None:
    """No wrench is taken beyond its range."""
    with pytest.raises(
        TorqueError, match=r"no wrench of the shop reaches 300 N.m; it has large 20 N.m to 200 N.m"
    ):
        choose(SHOP, read_quantity("300 N.m"))


def test_a_wrench_too_coarse_is_refused() -> None:
    """A wrench that cannot be set closely enough is not offered."""
    shop = Shop.model_validate({"wrenches": [LARGE]})
    with pytest.raises(TorqueError, match=r"set within 1 % of 42 N.m; it has large in steps of 5 N.m"):
        choose(shop, read_quantity("42 N.m"), read_quantity("1 %"))


def test_below_a_fifth_of_full_scale_is_doubted() -> None:
    """A large wrench at its low end is taken only with a word about it."""
    shop = Shop.model_validate({"wrenches": [LARGE]})
    (doubt,) = choose(shop, read_quantity("30 N.m")).doubts
    assert doubt == ("low", "30 N.m is below a fifth of its full scale of 200 N.m, where it reads badly")


def test_a_left_hand_thread_wants_a_wrench_that_measures_so() -> None:
    """Not every wrench measures to the left."""
    assert choose(SHOP, read_quantity("45 N.m"), left_hand=True).doubts
    both = Shop.model_validate({"wrenches": [MIDDLE | {"left_hand": True}]})
    assert choose(both, read_quantity("45 N.m"), left_hand=True).doubts == ()


TODAY = dt.date(2024, 6, 1)


@pytest.mark.parametrize(
    ("known", "told"),
    [
        ({"calibrated": "2024-01-10"}, ""),
        ({"calibrated": "2022-01-10"}, "was calibrated 29 months ago, on 2022-01-10"),
        ({"calibrated": "2024-01-10", "uses": 5000}, "has done 5000 uses since it was calibrated"),
        ({}, "has no calibration date"),
    ],
)
def test_the_age_of_a_calibration_is_told(known: dict[str, Any], told: str) -> None:
    """A wrench out of date, worn or of unknown age says so."""
    text = TorqueWrench.model_validate(MIDDLE | known).calibration(TODAY)
    assert told in text if told else text == ""


def test_uses_are_counted() -> None:
    """A click of one wrench adds to its uses alone."""
    counted = SHOP.used("small").used("small", 3)
    assert [counted.wrench(name).uses for name in ("small", "middle")] == [4, 0]


def test_an_unknown_wrench_lists_the_known() -> None:
    """A name that the shop does not have is refused with those it has."""
    with pytest.raises(TorqueError, match="no wrench called big; it has large, small, middle"):
        SHOP.wrench("big")


@pytest.mark.parametrize(
    ("written", "message"),
    [
        (MIDDLE | {"least": "80 N.m"}, "runs from 80 N.m to 60 N.m; turn them round"),
        (MIDDLE | {"resolution": "0 N.m"}, "above zero"),
        (MIDDLE | {"most": 60}, "60 is a bare number"),
    ],
)
def test_a_wrench_that_cannot_be_is_refused(written: dict[str, Any], message: str) -> None:
    """The shop's list is checked as it is read."""
    with pytest.raises(ValidationError, match=message):
        TorqueWrench.model_validate(written)


def test_two_wrenches_of_one_name_are_refused() -> None:
    """Uses are counted by name, so names differ."""
    with pytest.raises(ValidationError, match="two wrenches are called small"):
        Shop.model_validate({"wrenches": [SMALL, SMALL]})


def test_a_wrench_is_called_by_its_own_name_or_by_what_it_is() -> None:
    """What is spoken is the owner's word, else drive and kind."""
    assert SHOP.wrench("small").spoken == "the quarter-inch drive click wrench small"
    assert TorqueWrench.model_validate(SMALL | {"say": "the little one"}).spoken == "the little one"
    assert [str(SHOP.wrench(name).deviation) for name in ("middle", "large")] == ["4 %", "4 %"]


def test_an_adapter_counts_for_the_range_and_the_setting() -> None:
    """What the wrench itself has to bring decides which one suits and what it is set to."""
    shop = Shop.model_validate({"wrenches": [MIDDLE | {"length": "300 mm"}]})

    def lengthened(wrench: TorqueWrench, target: Quantity) -> Quantity:
        return setting_for(target, wrench.length, read_quantity("100 mm")).setting

    choice = choose(shop, read_quantity("40 N.m"), reach=lengthened)
    assert choice.setting == read_quantity("30 N.m")


def test_without_a_length_no_wrench_is_named_for_an_adapter() -> None:
    """A setting that cannot be worked out is refused, not guessed."""
    shop = Shop.model_validate({"wrenches": [MIDDLE]})

    def lengthened(wrench: TorqueWrench, target: Quantity) -> Quantity:
        return setting_for(target, wrench.length, read_quantity("100 mm")).setting

    with pytest.raises(TorqueError, match="effective length is not known"):
        choose(shop, read_quantity("40 N.m"), reach=lengthened)


def test_a_wrench_laid_aside_is_not_chosen() -> None:
    """The next one that suits is taken instead."""
    value = read_quantity("45 N.m")
    first = choose(SHOP, value).wrench.name
    assert choose(SHOP.without({first}), value).wrench.name != first
