"""Tails of the counting distributions against SciPy."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from commission.judge.distributions import binomial_cdf, falling_root, poisson_cdf


@settings(deadline=None, max_examples=100)
@given(st.integers(1, 300), st.data(), st.floats(0.001, 0.999))
def test_binomial_tail_is_scipys(n: int, data: st.DataObject, p: float) -> None:
    """P(X <= k) equals SciPy's for any count and probability."""
    k = data.draw(st.integers(-1, n + 1))

    assert stats.binom.cdf(k, n, p) == pytest.approx(binomial_cdf(k, n, p), rel=1e-9, abs=1e-13)


@settings(deadline=None, max_examples=100)
@given(st.integers(-1, 200), st.floats(0, 300))
def test_poisson_tail_is_scipys(k: int, mean: float) -> None:
    """P(N <= k) equals SciPy's for any mean."""
    assert stats.poisson.cdf(k, mean) == pytest.approx(poisson_cdf(k, mean), rel=1e-9, abs=1e-13)


@pytest.mark.parametrize(("k", "n", "p", "expected"), [(3, 5, 0.0, 1.0), (3, 5, 1.0, 0.0), (5, 5, 1.0, 1.0)])
def test_certain_events_are_exact(k: int, n: int, p: float, expected: float) -> None:
    """A probability of 0 or 1 gives a tail of 0 or 1."""
    assert expected == binomial_cdf(k, n, p)


def test_far_above_the_mean_nothing_is_missing() -> None:
    """At most 299 of 300 at a thousandth each is certain to the last digit; 299 alone is too rare for a float."""
    assert 1.0 == pytest.approx(binomial_cdf(299, 300, 0.001), rel=1e-15)


def test_no_trials_hold_no_event() -> None:
    """Of no trials none fails for certain; and the terms of a Poisson tail never add up to more than 1."""
    assert (0.0, 1.0) == (binomial_cdf(-1, 0, 0.5), binomial_cdf(0, 0, 0.5))
    assert 1.0 == poisson_cdf(200, 10.0)


def test_what_is_no_distribution_is_refused() -> None:
    """A probability above 1, a negative count of trials and a negative mean are errors."""
    for n, p in ((5, 1.1), (5, -0.1), (-1, 0.5)):
        with pytest.raises(ValueError, match="binomial needs"):
            binomial_cdf(1, n, p)
    for mean in (-1.0, float("inf"), float("nan")):
        with pytest.raises(ValueError, match="Poisson mean"):
            poisson_cdf(1, mean)


@pytest.mark.parametrize(("low", "high"), [(1, 3), (0, 1), (0, 2)])
def test_a_crossing_at_an_end_is_found(low: float, high: float) -> None:
    """The ends belong to it: 1 - x crosses zero at 1, wherever that lies between them."""
    assert 1 == pytest.approx(falling_root(lambda x: 1 - x, low, high), abs=1e-15)


def test_no_crossing_is_an_error() -> None:
    """A function that stays on one side of zero has no root to report."""
    for low, high in ((2, 3), (0, 0.5)):
        with pytest.raises(ArithmeticError, match="No crossing"):
            falling_root(lambda x: 1 - x, low, high)
