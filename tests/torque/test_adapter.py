import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import TorqueError
from assistant.torque.adapter import CAUTIONS, setting_for, target_of
from assistant.torque.units import Quantity, read_quantity

lengths = st.decimals(min_value=200, max_value=900, places=1).map(lambda mm: Quantity(value=mm, unit="mm"))
adapters = st.decimals(min_value=5, max_value=150, places=1).map(lambda mm: Quantity(value=mm, unit="mm"))
angles = st.integers(min_value=-720, max_value=720).map(lambda deg: read_quantity(f"{deg} deg"))
torques = st.decimals(min_value=1, max_value=500, places=1).map(lambda nm: Quantity(value=nm, unit="N.m"))


@given(target=torques, wrench=lengths, adapter=adapters, angle=angles)
def test_setting_and_target_are_inverses(
    target: Quantity, wrench: Quantity, adapter: Quantity, angle: Quantity
) -> None:
    """The setting worked out from a target brings that target back."""
    setting = setting_for(target, wrench, adapter, angle).setting
    back = target_of(setting, wrench, adapter, angle).target
    assert float(back.value) == pytest.approx(float(target.value))


@given(target=torques, wrench=lengths, adapter=adapters)
def test_an_adapter_in_line_lowers_the_setting(target: Quantity, wrench: Quantity, adapter: Quantity) -> None:
    """A longer lever needs less, a shorter one more."""
    assert setting_for(target, wrench, adapter).setting < target
    assert setting_for(target, wrench, adapter, read_quantity("180 deg")).setting > target


@given(target=torques, adapter=adapters, angle=st.sampled_from(["90 deg", "-90 deg", "270 deg", "1/4 turn"]))
def test_right_angles_change_nothing(target: Quantity, adapter: Quantity, angle: str) -> None:
    """At right angles the setting is the target, even where the wrench's length is unknown."""
    adapted = setting_for(target, None, adapter, read_quantity(angle))
    assert (adapted.setting, adapted.cautions) == (target, ())


def test_an_unknown_length_gives_no_number() -> None:
    """Without the wrench's effective length there is a message, not a guess."""
    with pytest.raises(TorqueError, match=r"effective length is not known.*set the adapter at 90 deg"):
        setting_for(read_quantity("12 N.m"), None, read_quantity("40 mm"))


def test_a_changed_lever_asks_for_the_right_grip() -> None:
    """With an adapter in line, the place of the hand counts, and that is said."""
    adapted = setting_for(read_quantity("60 N.m"), read_quantity("400 mm"), read_quantity("40 mm"))
    assert (adapted.cautions, str(adapted.factor)) == ((CAUTIONS["grip"],), "1.1")


@pytest.mark.parametrize(
    ("wrench", "adapter", "angle", "message"),
    [
        ("0 mm", "40 mm", "0 deg", "the wrench length 0 mm is not above zero"),
        ("400 mm", "-40 mm", "0 deg", "the adapter length -40 mm is not above zero"),
        ("40 mm", "40 mm", "180 deg", "points back is longer than the wrench"),
        ("40 N.m", "40 mm", "0 deg", "is a torque and not a length"),
    ],
)
def test_lengths_that_make_no_sense_are_refused(wrench: str, adapter: str, angle: str, message: str) -> None:
    """A length of nothing, or an adapter that eats the wrench, is a mistake."""
    with pytest.raises(TorqueError, match=message):
        setting_for(
            read_quantity("12 N.m"), read_quantity(wrench), read_quantity(adapter), read_quantity(angle)
        )
