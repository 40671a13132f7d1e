"""Conversion factors against NIST SP 811, appendix B.8 (from memory), and scipy.constants."""

import math
from decimal import Decimal

import pytest
from scipy import constants

from assistant.torque.units import Quantity

# Factors as printed in NIST SP 811, B.8: seven digits, exact ones in full.
NIST_SP_811 = [
    ("lbf.ft", "N.m", 1.355818),
    ("lbf.in", "N.m", 1.129848e-01),
    ("kgf.m", "N.m", 9.80665),
    ("kgf.cm", "N.m", 9.80665e-02),
    ("ozf.in", "N.m", 7.061552e-03),
    ("in", "mm", 25.4),
    ("thou", "mm", 2.54e-02),
    ("ft", "m", 0.3048),
    ("um", "mm", 1e-03),
    ("lbf", "N", 4.448222),
    ("psi", "kPa", 6.894757),
    ("bar", "kPa", 100),
    ("turn", "deg", 360),
    ("min", "s", 60),
    ("h", "s", 3600),
]


def _factor(unit: str, into: str) -> float:
    return float(Quantity(value=Decimal(1), unit=unit).exact(into))


@pytest.mark.parametrize(("unit", "into", "factor"), NIST_SP_811)
def test_factors_are_those_of_nist_sp_811(unit: str, into: str, factor: float) -> None:
    """Each factor agrees with the seven printed digits."""
    assert _factor(unit, into) == pytest.approx(factor, rel=5e-7)


# The same from the constants that scipy carries.
SCIPY = [
    ("lbf.ft", "N.m", constants.lbf * constants.foot),
    ("lbf.in", "N.m", constants.lbf * constants.inch),
    ("kgf.m", "N.m", constants.kgf),
    ("kgf.cm", "N.m", constants.kgf * constants.centi),
    ("ozf.in", "N.m", constants.oz * constants.g * constants.inch),
    ("in", "m", constants.inch),
    ("thou", "m", constants.mil),
    ("ft", "m", constants.foot),
    ("lbf", "N", constants.lbf),
    ("psi", "bar", constants.psi / constants.bar),
    ("h", "s", constants.hour),
    ("deg", "turn", constants.degree / (2 * math.pi)),
]


@pytest.mark.parametrize(("unit", "into", "factor"), SCIPY)
def test_factors_are_those_of_scipy(unit: str, into: str, factor: float) -> None:
    """Each factor agrees with scipy.constants to the last digits of a float."""
    assert _factor(unit, into) == pytest.approx(factor, rel=1e-14)


def test_the_pound_force_foot_is_exact() -> None:
    """0.45359237 kg x 9.80665 m/s2 x 0.3048 m, all exact by definition (NIST SP 811, B.6)."""
    foot_pound = Quantity(value=Decimal(1), unit="lbf.ft").to("N.m")
    assert foot_pound.value == Decimal("0.45359237") * Decimal("9.80665") * Decimal("0.3048")


@pytest.mark.parametrize(("fahrenheit", "celsius"), [("32", "0"), ("212", "100"), ("-40", "-40")])
def test_temperatures_have_their_own_zero(fahrenheit: str, celsius: str) -> None:
    """Celsius from Fahrenheit: (t - 32) / 1.8 (NIST SP 811, B.8)."""
    assert Quantity(value=Decimal(fahrenheit), unit="degF").to("degC").value == Decimal(celsius)
