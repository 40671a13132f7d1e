import statistics
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.measures.conformity import Limits, judge
from assistant.measures.readings import readable, root, series_of
from assistant.torque.units import Quantity, read_quantity

VALUES = st.decimals(min_value=-100, max_value=100, places=4)


def lengths(*texts: str) -> tuple[Quantity, ...]:
    """Read several."""
    return tuple(map(read_quantity, texts))


def test_readings_in_different_units_make_one_value() -> None:
    """The unit is that of the first; the spread is the largest less the smallest."""
    series = series_of(lengths("0.20 mm", "10 thou", "0.26 mm"))
    assert (str(series.mean), str(series.spread)) == ("0.238 mm", "0.06 mm")


def test_deviation_needs_three_readings() -> None:
    """Two readings have a spread and no standard deviation."""
    assert series_of(lengths("1 mm", "2 mm")).deviation is None
    assert str(series_of(lengths("1 mm", "2 mm", "3 mm")).deviation) == "1 mm"


@given(st.lists(VALUES, min_size=3, max_size=20))
def test_series_is_what_the_standard_library_says(values: list[Decimal]) -> None:
    """Mean, range and sample deviation against Python's statistics, with fractions."""
    series = series_of([Quantity(value=value, unit="mm") for value in values])
    exact = [Fraction(value) for value in values]
    assert series.deviation is not None
    assert float(series.mean.value) == pytest.approx(float(statistics.mean(exact)))
    assert series.spread.exact("mm") == max(exact) - min(exact)
    assert float(series.deviation.value) == pytest.approx(float(statistics.stdev(exact)), abs=1e-12)


@given(st.fractions(min_value=0, max_value=10**6, max_denominator=10**6))
def test_root_is_a_root(number: Fraction) -> None:
    """Its square is the number, to the last digits."""
    found = root(number)
    assert found**2 <= number < (found + Fraction(1, 10**20)) ** 2


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("0.2566666666666667 mm", "0.2567 mm"),
        ("25.00 mm", "25.00 mm"),
        ("0.5000000001 mm", "0.5 mm"),
        ("0.046875 in", "0.046875 in"),
        ("12.3456 thou", "12.35 thou"),
        ("1/3 turn", "1/3 turn"),
        ("100.00000001 mm", "100 mm"),
    ],
)
def test_value_is_rounded_to_what_can_be_followed(value: str, said: str) -> None:
    """A long one is rounded, a short one keeps the digits as they were written."""
    assert str(readable(read_quantity(value))) == said


LIMITS = st.tuples(VALUES, VALUES).map(sorted)


@given(VALUES, LIMITS, st.decimals(min_value=0, max_value=10, places=3))
def test_every_value_has_one_verdict_and_uncertainty_only_adds_doubt(
    value: Decimal, limits: list[Decimal], doubt: Decimal
) -> None:
    """A better gauge may settle a doubt; it never turns in into out, or out into in."""
    low, high = (Quantity(value=limit, unit="mm") for limit in limits)
    at = Quantity(value=value, unit="mm")
    sharp = judge(at, Limits(least=low, most=high))
    blunt = judge(at, Limits(least=low, most=high, doubt=Quantity(value=doubt, unit="mm")))
    assert sharp != "in doubt"
    assert blunt in {sharp, "in doubt"}


@given(VALUES, VALUES, st.decimals(min_value=0, max_value=1, places=3))
def test_verdict_is_the_same_in_every_unit(value: Decimal, most: Decimal, doubt: Decimal) -> None:
    """Thousandths of an inch, millimetres or micrometres: the verdict does not change."""
    limits = Limits(most=Quantity(value=most, unit="mm"), doubt=Quantity(value=doubt, unit="mm"))
    inches = Quantity(value=value, unit="in")
    assert judge(inches, limits) == judge(Quantity(value=value * 1000, unit="thou"), limits)
    assert judge(inches, limits) == judge(Quantity(value=value * 25400, unit="um"), limits)


def test_what_has_no_limits_is_not_judged() -> None:
    """A value that formulas use may be without limits."""
    assert judge(read_quantity("1 mm"), Limits()) == "no limits"
