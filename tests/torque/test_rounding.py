from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import TorqueError
from assistant.torque.rounding import for_wrench, rounded
from assistant.torque.units import Quantity, read_quantity

values = st.decimals(min_value=-100_000, max_value=100_000, places=4, allow_nan=False, allow_infinity=False)


@given(value=values, step=st.decimals(min_value="0.01", max_value=50, places=2))
def test_rounding_goes_to_the_nearest_step(value: Decimal, step: Decimal) -> None:
    """A rounded value is whole steps, at most half a step away, and rounding again changes nothing."""
    near = rounded(Quantity(value=value, unit="N.m"), Quantity(value=step, unit="N.m"))
    assert (Fraction(near.value) / Fraction(step)).denominator == 1
    assert abs(near.value - value) * 2 <= step
    assert rounded(near, Quantity(value=step, unit="N.m")) == near


@pytest.mark.parametrize(
    ("value", "step", "expected"),
    [
        ("2.5 N.m", "1 N.m", "3 N.m"),
        ("0.5 N.m", "1 N.m", "1 N.m"),
        ("12 N.m", "1 lbf.in", "106 lbf.in"),
        ("12.25 mm", "0.5 mm", "12.5 mm"),
        ("-2.5 mm", "1 mm", "-3 mm"),
    ],
)
def test_halves_go_up(value: str, step: str, expected: str) -> None:
    """A half goes up, never to the even neighbour; the result has the step's unit."""
    assert rounded(read_quantity(value), read_quantity(step)) == read_quantity(expected)


def test_a_step_of_nothing_is_refused() -> None:
    """There is no rounding to a step of zero."""
    with pytest.raises(TorqueError, match="no step"):
        rounded(read_quantity("12 N.m"), read_quantity("0 N.m"))


def test_a_setting_within_tolerance_is_given() -> None:
    """A wrench is set to its own steps where they are fine enough."""
    setting = for_wrench(read_quantity("12 N.m"), read_quantity("1 lbf.in"), read_quantity("4 %"))
    assert str(setting) == "106 lbf.in"


def test_a_setting_outside_tolerance_is_refused() -> None:
    """A value is never bent silently to suit a coarse wrench."""
    with pytest.raises(TorqueError, match=r"cannot be set within 0.1 N.m of 12 N.m .*take a finer wrench"):
        for_wrench(read_quantity("12 N.m"), read_quantity("5 N.m"), read_quantity("0.1 N.m"))
