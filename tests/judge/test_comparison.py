"""Fisher's exact test against published tables, and what may be pooled."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from commission.judge.comparison import Alternative, CheckCounts, fisher_exact, pool

BOTH, LESS, GREATER = Alternative.BOTH, Alternative.LESS, Alternative.GREATER
Table = tuple[tuple[int, int], tuple[int, int]]

PUBLISHED: list[tuple[Table, Alternative, float, float]] = [
    # tea tasting: R documentation ?fisher.test (one-sided), R output quoted in a test file (two-sided)
    (((3, 1), (1, 3)), GREATER, 0.2429, 5e-5),
    (((3, 1), (1, 3)), BOTH, 0.4857143, 5e-8),
    # all eight cups right: Fisher, The Design of Experiments, 1935, from memory
    (((4, 0), (0, 4)), GREATER, 1 / 70, 1e-12),
    # convictions of twins: R output quoted in a test file
    (((2, 15), (10, 3)), LESS, 0.0004651809, 5e-11),
    (((2, 15), (10, 3)), BOTH, 0.0005367241, 5e-11),
    # scipy documentation, fisher_exact
    (((8, 2), (1, 5)), BOTH, 0.034965034965034965, 1e-14),
    # R 3.6.2, scipy tests/data/fisher_exact_results_from_r.py
    (((100, 2), (1000, 5)), BOTH, 0.1300759363430016, 1e-12),
    (((2, 7), (8, 2)), BOTH, 0.02301413756522116, 1e-12),
    (((5, 1), (10, 10)), BOTH, 0.1973244147157191, 1e-12),
    (((5, 15), (20, 20)), BOTH, 0.09580440012477633, 1e-12),
    # R, scipy stats/tests/test_stats.py
    (((5, 0), (1, 4)), BOTH, 0.04761904761904762, 1e-14),
    (((0, 2), (6, 4)), BOTH, 0.4545454545, 5e-11),
]


@pytest.mark.parametrize(("table", "alternative", "expected", "within"), PUBLISHED)
def test_fisher_meets_the_published_values(
    table: Table, alternative: Alternative, expected: float, within: float
) -> None:
    """The probability of each published table equals the printed one."""
    assert expected == pytest.approx(fisher_exact(*table, alternative), abs=within, rel=0)


@pytest.mark.parametrize("cycles", [8, 10, 12])
def test_perfect_agreement_has_a_closed_form(cycles: int) -> None:
    """N trials in perfect agreement have the one-sided probability 1 / C(N, N/2)."""
    half = cycles // 2

    assert 1 / math.comb(cycles, half) == pytest.approx(fisher_exact((half, 0), (0, half), GREATER), rel=1e-15)


@settings(deadline=None, max_examples=60)
@given(
    st.tuples(*[st.integers(0, 40)] * 4), st.sampled_from([(BOTH, "two-sided"), (LESS, "less"), (GREATER, "greater")])
)
def test_fisher_is_scipys(counts: tuple[int, int, int, int], side: tuple[Alternative, str]) -> None:
    """Any table has the probability SciPy gives it."""
    a, b, c, d = counts
    expected = stats.fisher_exact([[a, b], [c, d]], alternative=side[1])[1]

    assert expected == pytest.approx(fisher_exact((a, b), (c, d), side[0]), rel=1e-7)


def test_negative_counts_are_refused() -> None:
    """A table with a count below zero is an error."""
    with pytest.raises(ValueError, match="Counts begin at 0"):
        fisher_exact((1, -1), (2, 3))


CHECK = CheckCounts("of May", 0, 20, wiring="w1", firmware="f1", passed=True)


def test_like_checks_are_pooled() -> None:
    """Clean checks of the same wiring and firmware add up."""
    pooled = pool([replace(CHECK, label="of March"), replace(CHECK, label="of April"), CHECK])

    assert (0, 60, 3, "") == (pooled.failures, pooled.trials, pooled.checks, pooled.stopped_by)
    assert "0 of 60 over 3 checks." == pooled.sentence


def test_misreads_of_pooled_checks_add_up() -> None:
    """One of twenty in each of three checks is three of sixty, and no such check differs from those after it."""
    pooled = pool([replace(CHECK, failures=1)] * 3)

    assert (3, 60, 3, "") == (pooled.failures, pooled.trials, pooled.checks, pooled.stopped_by)


def test_a_check_differs_by_its_own_clean_trials() -> None:
    """Three of 3 beside none of 6: p = 1 / C(9, 3) = 1 / 84 by counting, which is a difference."""
    pooled = pool([replace(CHECK, failures=3, trials=3), replace(CHECK, trials=6)])

    assert pooled.stopped_by.endswith("(p = 0.0119)")
    assert f"{1 / math.comb(9, 3):.3g}" == "0.0119"


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"wiring": "w0"}, "wiring was changed after of April"),
        ({"firmware": "f0"}, "firmware was changed after of April"),
        ({"passed": False}, "of April failed"),
        ({"failures": 8}, "differs from those after it at 95 % confidence"),
    ],
)
def test_pooling_ends_at_the_first_check_that_may_not_be_added(changes: dict[str, object], reason: str) -> None:
    """A change, a fail or a significant difference keeps that check and all before it apart."""
    april = replace(CHECK, label="of April", **changes)  # type: ignore[arg-type]

    pooled = pool([replace(CHECK, label="of March"), april, CHECK])

    assert (20, 1) == (pooled.trials, pooled.checks)
    assert reason in pooled.sentence


def test_a_difference_of_one_in_twenty_is_none() -> None:
    """One of 1 beside none of 19 has p = 1 / 20 exactly, by counting, and only what lies below it counts."""
    pooled = pool([replace(CHECK, trials=19), replace(CHECK, failures=1, trials=1)])

    assert (1, 20, 2, False) == (pooled.failures, pooled.trials, pooled.checks, pooled.differs)


def test_a_failed_check_is_judged_by_itself() -> None:
    """Failed counts of the latest check are never thinned with earlier clean ones."""
    pooled = pool([CHECK, replace(CHECK, label="of June", failures=1, passed=False)])

    assert (1, 20, 1) == (pooled.failures, pooled.trials, pooled.checks)


def test_pooling_nothing_is_an_error() -> None:
    """No check, or a significance that is none, is refused; so is a check with more failures than trials."""
    with pytest.raises(ValueError, match="at least one check"):
        pool([])
    for significance in (0.0, 1.0):
        with pytest.raises(ValueError, match="significance"):
            pool([CHECK], significance=significance)
    with pytest.raises(ValueError, match="cannot have 21 failures"):
        replace(CHECK, failures=21)
