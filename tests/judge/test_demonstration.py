"""Proportions: published tables and intervals, then SciPy."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from commission.judge.demonstration import (
    BoundSide,
    Interval,
    bound_sentence,
    clopper_pearson,
    upper_bound,
)

# Binomial sample sizes, "10 / 5 / 2.5 / 1 Percent Risk of Overreliance", as encoded in koenderks/jfa,
# tests/testthat/test-statistical-tables.R; columns are tolerable rates in percent.
RATES_PERCENT = (1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 15, 20)
SAMPLE_SIZES = {
    0.90: (230, 114, 76, 57, 45, 38, 32, 28, 25, 22, 15, 11),
    0.95: (299, 149, 99, 74, 59, 49, 42, 36, 32, 29, 19, 14),
    0.975: (368, 183, 122, 91, 72, 60, 51, 45, 40, 36, 23, 17),
    0.99: (459, 228, 152, 113, 90, 75, 64, 56, 49, 44, 29, 21),
}
# Same file: (reliability, confidence) -> trials with 0, 1, 2, ... failures allowed.
WITH_FAILURES = {
    (0.95, 0.95): (59, 93, 124, 153, 181, 208, 234),
    (0.90, 0.90): (22, 38, 52, 65, 78, 91, 104, 116, 128),
    (0.90, 0.95): (29, 46, 61, 76, 89, 103, 116, 129, 142, 154),
    (0.95, 0.90): (45, 77, 105, 132, 158),
    (0.95, 0.99): (90, 130, 165, 198),
}
BOTH, LOWER, UPPER = BoundSide.BOTH, BoundSide.LOWER, BoundSide.UPPER


@pytest.mark.parametrize("confidence", SAMPLE_SIZES)
def test_zero_failure_plans_are_the_published_ones(confidence: float) -> None:
    """In all 48 cells of the published table a clean sample of that size shows the rate, and one less does not."""
    for size, rate in zip(SAMPLE_SIZES[confidence], RATES_PERCENT, strict=True):
        assert upper_bound(0, size, confidence) <= rate / 100 < upper_bound(0, size - 1, confidence)


@pytest.mark.parametrize(("plan", "sizes"), WITH_FAILURES.items())
def test_plans_with_failures_are_the_published_ones(plan: tuple[float, float], sizes: tuple[int, ...]) -> None:
    """With so many failures allowed a sample of the published size shows the reliability, and one less does not."""
    reliability, confidence = plan
    for failures, size in enumerate(sizes):
        assert upper_bound(failures, size, confidence) <= 1 - reliability < upper_bound(failures, size - 1, confidence)


def test_the_classical_form_is_used() -> None:
    """29 clean trials show 90.2 % at 95 %, where the form with a uniform prior would say 90.5 %."""
    # codingace.net "success run theorem" prints the other form: 29 trials at 95 % give 90.4966 %
    assert pytest.approx(0.904966, abs=5e-7) == 0.05 ** (1 / 30)
    assert pytest.approx(0.901855, abs=5e-7) == 1 - upper_bound(0, 29, 0.95)


# failures, trials, confidence, side, lower, upper, absolute tolerance of the print
PUBLISHED = [
    # R binom.confint "exact", in statsmodels stats/tests/results/results_proportion.py
    (4, 20, 0.95, BOTH, 0.05733399705003284, 0.436614002996668, 1e-12),
    (18, 20, 0.95, BOTH, 0.6830172859809176, 0.9876514728297052, 1e-12),
    # R binom.test, in statsmodels stats/tests/test_proportion.py
    (51, 235, 0.95, BOTH, 0.1660633298083073, 0.2752683640289254, 1e-12),
    (51, 235, 0.95, UPPER, 0, 0.2659460862574313, 1e-12),
    (51, 235, 0.95, LOWER, 0.1735252778065201, 1, 1e-12),
    # R 3.6.2, in scipy stats/tests/test_morestats.py
    (20, 100, 0.95, BOTH, 0.1266555521019559, 0.2918426890886281, 1e-12),
    (20, 100, 0.95, UPPER, 0, 0.2772002496709138, 1e-12),
    (20, 100, 0.95, LOWER, 0.1366613252458672, 1, 1e-12),
    (3, 50, 0.99, BOTH, 0.006872485, 0.202706269, 1e-9),
    (3, 50, 0.99, UPPER, 0, 0.1872093, 5e-8),
    (3, 50, 0.99, LOWER, 0.008860761, 1, 1e-9),
    (0, 10, 0.95, UPPER, 0, 0.2588656, 6e-8),
    (0, 10, 0.95, BOTH, 0, 0.3084971, 6e-8),
    (10, 10, 0.95, LOWER, 0.7411344, 1, 6e-8),
    (10, 10, 0.95, BOTH, 0.6915029, 1, 6e-8),
    # scipy documentation, BinomTestResult.proportion_ci and binomtest
    (7, 50, 0.95, BOTH, 0.05819170033997342, 0.26739600249700846, 1e-12),
    (3, 15, 0.95, LOWER, 0.05684686759024681, 1, 1e-12),
    # CRAN GenBinomApps, clopper.pearson.ci example
    (5, 100000, 0.95, UPPER, 0, 0.0001051275, 6e-11),
    # R ?binom.test, Mendel's peas: from memory
    (682, 925, 0.95, BOTH, 0.7076683, 0.7654066, 6e-8),
    # NIST/SEMATECH e-Handbook 7.2.4.1, 5 % in each tail: from memory; its last digit differs from the exact value
    (4, 20, 0.90, BOTH, 0.071354, 0.401029, 2e-6),
]


@pytest.mark.parametrize(("k", "n", "confidence", "side", "lower", "upper", "within"), PUBLISHED)
def test_exact_intervals_are_the_published_ones(
    k: int, n: int, confidence: float, side: BoundSide, lower: float, upper: float, within: float
) -> None:
    """Clopper-Pearson limits equal the published figures to the digits their source prints."""
    interval = clopper_pearson(k, n, confidence, side)

    assert lower == pytest.approx(interval.lower, abs=within, rel=0)
    assert upper == pytest.approx(interval.upper, abs=within, rel=0)


@settings(deadline=None, max_examples=60)
@given(st.integers(1, 200), st.data(), st.sampled_from((0.8, 0.9, 0.95, 0.99)))
def test_exact_intervals_are_scipys(n: int, data: st.DataObject, confidence: float) -> None:
    """Two-sided limits equal those of SciPy's exact method for any counts."""
    k = data.draw(st.integers(0, n))
    expected = stats.binomtest(k, n).proportion_ci(confidence, method="exact")
    interval = clopper_pearson(k, n, confidence)

    assert expected.low == pytest.approx(interval.lower, rel=1e-8, abs=1e-12)
    assert expected.high == pytest.approx(interval.upper, rel=1e-8, abs=1e-12)


@pytest.mark.parametrize(("n", "percent"), [(6, 39), (10, 26), (20, 14), (30, 9.5), (59, 5), (60, 4.9)])
def test_clean_counts_have_the_bounds_people_quote(n: int, percent: float) -> None:
    """Clean counts bound the miss rate as the trade quotes them (common practice, no source)."""
    assert percent == pytest.approx(100 * upper_bound(0, n), abs=0.5)


@pytest.mark.parametrize(("n", "exact", "rule"), [(30, 0.095034, 0.1), (100, 0.0295130, 0.03), (300, 0.00993608, 0.01)])
def test_the_rule_of_three_is_the_larger(n: int, exact: float, rule: float) -> None:
    """Three over n (Eypasch, BMJ 311, 1995, 619) is slightly above the exact bound of a clean count."""
    assert exact == pytest.approx(upper_bound(0, n), rel=1e-5)
    assert rule > upper_bound(0, n)


def test_ten_clean_trials_show_about_74_percent() -> None:
    """Ten of ten at 95 % demonstrate about 74 % (relistats project page)."""
    assert 0.741134449 == pytest.approx(1 - upper_bound(0, 10), abs=1e-9)


def test_sentences_carry_counts_and_bounds() -> None:
    """A sentence names the counts, the confidence and the bound."""
    expected = "Missed runouts: 0 of 20; at 95 % confidence the true share is at most 13.9 %."

    assert expected == bound_sentence("Missed runouts", 0, 20)


@pytest.mark.parametrize(("k", "n", "c"), [(-1, 5, 0.95), (6, 5, 0.95), (0, 0, 0.95), (0, 5, 1.0), (0, 5, 0.0)])
def test_impossible_counts_are_refused(k: int, n: int, c: float) -> None:
    """Counts that cannot be and confidences of 0 or 1 are errors, never a bound."""
    with pytest.raises(ValueError, match="An interval needs"):
        clopper_pearson(k, n, c)


def test_an_interval_that_runs_downwards_is_refused() -> None:
    """Its ends lie within 0 to 1, the smaller one first."""
    for lower, upper in ((0.6, 0.5), (-0.1, 0.5), (0.5, 1.1)):
        with pytest.raises(ValueError, match="runs upwards"):
            Interval(lower, upper)
