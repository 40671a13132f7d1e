import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import TorqueError
from assistant.torque.strength import (
    FRICTION_FACTORS,
    SCATTER,
    bearable_kn,
    engagement_mm,
    judge,
    preload_kn,
    scatter_kn,
    torque_long_nm,
    torque_nm,
)
from assistant.torque.threads import proof_load_kn, read_thread
from assistant.torque.units import Quantity, read_quantity

JUDGED = [
    ("1/4-20", "SAE 5", "110 lbf.in", "plausible", None),
    ("1/4-20", "SAE 5", "140 lbf.in", "plausible", None),
    ("1/4-20", "SAE 5", "150 lbf.in", "high", None),
    ("1/4-20", "SAE 5", "110 lbf.ft", "unit slip", "110 lbf.in"),
    ("5/16-18", "SAE 5", "18 lbf.in", "unit slip", "18 lbf.ft"),
    ("M10", "8.8", "45 N.m", "plausible", None),
    ("M10", "8.8", "45 kgf.m", "unit slip", "45 N.m"),
    ("M10", "8.8", "4.5 N.m", "unit slip", "4.5 kgf.m"),
    ("M10", "8.8", "95 N.m", "beyond proof", None),
    ("M10", "8.8", "0.5 N.m", "low", None),
    ("M6", "8.8", "80 N.m", "unit slip", "80 lbf.in"),
]


@pytest.mark.parametrize(("thread", "grade", "torque", "finding", "meant"), JUDGED)
def test_a_written_torque_is_judged(
    thread: str, grade: str, torque: str, finding: str, meant: str | None
) -> None:
    """A value is plausible, low, high, beyond proof, or looks like another unit."""
    verdict = judge(thread, grade, read_quantity(torque), "dry")
    assert verdict.finding == finding
    assert verdict.meant == (read_quantity(meant) if meant else None)
    assert verdict.clean is (finding == "plausible")


def test_a_slip_is_told_in_peoples_words() -> None:
    """The finding says which unit was probably meant, and what would be plausible."""
    verdict = judge("1/4-20", "SAE 5", read_quantity("110 lbf.ft"), "dry")
    assert verdict.text == (
        "110 lbf.ft on 1/4-20 SAE 5: looks like inch pounds written as foot pounds"
        " (beyond proof, about 976% of what the joint bears; 1.7 lbf.ft to 12 lbf.ft would be plausible)"
    )


def test_less_friction_means_more_preload() -> None:
    """The same torque that suits a dry screw is too much for a waxed one."""
    torque = read_quantity("60 N.m")
    assert judge("M10", "8.8", torque, "dry").finding == "plausible"
    assert judge("M10", "8.8", torque, "waxed").finding == "beyond proof"


def test_shares_rise_as_friction_falls() -> None:
    """The three shares run from much friction to little."""
    shares = judge("M10", "8.8", read_quantity("45 N.m")).share_of_proof
    assert list(shares) == sorted(shares)


def test_an_unknown_condition_is_refused() -> None:
    """A condition without a friction factor gets no number."""
    with pytest.raises(TorqueError, match="'wet' is no known condition; write one of dry"):
        judge("M10", "8.8", read_quantity("45 N.m"), "wet")


def test_a_short_thread_in_aluminium_lowers_the_limit() -> None:
    """Aluminium strips before a strong bolt gives, unless the bolt goes deep enough."""
    thread = read_thread("M8")
    short = bearable_kn(thread, "10.9", "aluminium", read_quantity("8 mm"))
    assert short < bearable_kn(thread, "10.9", "aluminium") == proof_load_kn(thread, "10.9")
    assert (
        judge(
            "M8",
            "10.9",
            read_quantity("40 N.m"),
            "dry",
            material="aluminium",
            engagement=read_quantity("8 mm"),
        ).finding
        == "beyond proof"
    )


def test_aluminium_wants_twice_the_diameter() -> None:
    """The engagement asked for grows as the material gets softer."""
    thread = read_thread("M8")
    lengths = [engagement_mm(thread, material) for material in ("steel", "cast iron", "aluminium")]
    assert lengths == [8, 10, 16]


@given(
    preload=st.floats(min_value=0.5, max_value=200),
    factor=st.floats(min_value=0.08, max_value=0.3),
    size=st.sampled_from(["M5", "M8", "M12x1.25", "1/2-13"]),
)
def test_torque_and_preload_are_inverses(preload: float, factor: float, size: str) -> None:
    """The short form runs both ways."""
    thread = read_thread(size)
    torque = Quantity.model_validate(f"{torque_nm(preload, thread.diameter_mm, factor):.12f} N.m")
    assert preload_kn(torque, thread, factor) == pytest.approx(preload, rel=1e-6)


@given(
    value=st.integers(min_value=1, max_value=400),
    size=st.sampled_from(["M6", "M10", "3/8-16"]),
    condition=st.sampled_from(sorted(FRICTION_FACTORS)),
)
def test_plausible_values_lie_between_their_bounds(value: int, size: str, condition: str) -> None:
    """What is called plausible lies within the range that is told, to the two digits that are told."""
    torque = read_quantity(f"{value} N.m")
    verdict = judge(size, "8.8", torque, condition)
    inside = verdict.low.scaled(9).value <= 10 * value and 10 * value <= verdict.high.scaled(11).value
    assert inside or not verdict.clean


def test_long_and_short_form_agree_on_usual_friction() -> None:
    """With a friction of 0.15 in thread and bearing, K comes out near 0.2."""
    thread = read_thread("M10")
    long = torque_long_nm(20, thread, thread_friction=0.15, bearing_friction=0.15)
    assert long / (20 * thread.diameter_mm) == pytest.approx(0.2, abs=0.01)


@pytest.mark.parametrize("method", sorted(SCATTER))
def test_scatter_lies_round_the_usual_preload(method: str) -> None:
    """The usual preload is the middle of what a method gives."""
    least, most = scatter_kn(20, method)
    assert least < 20 < most
    assert (least + most) / 2 == pytest.approx(20)


def test_an_unknown_method_is_refused() -> None:
    """A method that is not listed has no scatter."""
    with pytest.raises(TorqueError, match="no known method"):
        scatter_kn(20, "luck")


@given(st.sampled_from(["M6", "M10x1.25", "1/4-20", "1/2-13"]), st.sampled_from(["N.m", "lbf.in", "lbf.ft"]))
def test_the_bounds_that_are_told_are_plausible_themselves(thread: str, unit: str) -> None:
    """Nobody is told that a value would be plausible which is then found to be too high or too low."""
    grade = "8.8" if thread.startswith("M") else "SAE 5"
    told = judge(thread, grade, read_quantity(f"1 {unit}"))
    assert all(judge(thread, grade, bound).clean for bound in (told.low, told.high))
