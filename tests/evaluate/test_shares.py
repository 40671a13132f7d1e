import pytest
from scipy import stats

from assistant.evaluate.shares import most_per_hour, wilson


@pytest.mark.parametrize(("hits", "trials"), [(0, 20), (1, 20), (10, 20), (20, 20), (571, 584)])
def test_wilson_intervals_are_those_of_scipy(hits: int, trials: int) -> None:
    """Checked against scipy's own (binomtest, method "wilson")."""
    found, known = wilson(hits, trials), stats.binomtest(hits, trials).proportion_ci(method="wilson")
    assert found is not None
    assert found.share == pytest.approx(100 * hits / trials)
    assert (found.low, found.high) == pytest.approx((100 * known.low, 100 * known.high), abs=1e-3)


def test_no_trials_have_no_share() -> None:
    """Nothing is said where nothing was tried."""
    assert wilson(0, 0) is None
    assert most_per_hour(0, 0.0) is None


def test_no_event_in_some_hours_is_at_most_three() -> None:
    """The rule of three: 3/H, more exactly 2.996/H."""
    assert most_per_hour(0, 10.0) == pytest.approx(0.2996, abs=1e-3)


@pytest.mark.parametrize("events", [1, 4, 60])
def test_a_rate_is_bounded_as_poisson_has_it(events: int) -> None:
    """The exact bound is a chi-squared quantile (Garwood, 1936; from memory), here scipy's."""
    assert most_per_hour(events, 2.0) == pytest.approx(stats.chi2.ppf(0.95, 2 * events + 2) / 2 / 2.0)
