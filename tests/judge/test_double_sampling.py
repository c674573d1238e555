"""The double sampling plan, against SciPy, an enumeration of every series, and figures worked out apart from it."""

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from commission.judge.double_sampling import (
    FIRST_SERIES,
    SECOND_SERIES,
    Decision,
    SamplingPlan,
    acceptance_probability,
    decide,
    for_cycles,
    limiting_share,
)
from commission.judge.trial import Came

RIGHT, WRONG, ASIDE = Came.RIGHT, Came.WRONG, Came.SET_ASIDE


def series(trials: int, *misreads: int, aside: int = 0) -> list[Came]:
    """A series of so many trials, with the misreads and the one set aside at these numbers, counted from 1."""
    return [WRONG if n in misreads else ASIDE if n == aside else RIGHT for n in range(1, trials + 1)]


@pytest.mark.parametrize(
    ("misread", "decision"),
    [
        (series(0), Decision.GO_ON),
        (series(5), Decision.GO_ON),
        (series(6), Decision.CONDITIONAL),
        (series(21), Decision.CONDITIONAL),
        (series(22), Decision.ACCEPTED),
        (series(60), Decision.ACCEPTED),
        (series(6, 6), Decision.GO_ON),
        (series(21, 1), Decision.GO_ON),
        (series(22, 22), Decision.CONDITIONAL),
        (series(37, 5), Decision.CONDITIONAL),
        (series(38, 5), Decision.ACCEPTED),
        (series(2, 1, 2), Decision.REJECTED),
        (series(38, 5, 38), Decision.REJECTED),
        (series(38, aside=5), Decision.ACCEPTED),
        (series(38, 5, aside=6), Decision.SPOILT),
        (series(39, 5, 39, aside=6), Decision.REJECTED),
    ],
)
def test_counts_decide_as_the_plan_says(misread: list[Came], decision: Decision) -> None:
    """22 clean or 38 with one are accepted, from 6 clean or 22 with one it is conditional, two misreads reject."""
    assert decision is decide(FIRST_SERIES, misread).decision


@pytest.mark.parametrize(
    ("misread", "decision"),
    [
        (series(26), Decision.CONDITIONAL),
        (series(27), Decision.ACCEPTED),
        (series(43, 3), Decision.CONDITIONAL),
        (series(44, 3), Decision.ACCEPTED),
    ],
)
def test_a_second_series_takes_more_trials(misread: list[Came], decision: Decision) -> None:
    """After a rejection without a cause found, 27 clean trials or 44 with one misread are accepted."""
    assert decision is decide(SECOND_SERIES, misread).decision


def test_nothing_counts_after_the_second_misread() -> None:
    """However many clean trials follow, the series has ended at its second misread."""
    found = decide(FIRST_SERIES, series(100, 3, 9))

    assert (Decision.REJECTED, 9, (3, 9), 0) == (found.decision, found.trials, found.misreads, found.still_needed)


def test_a_later_misread_takes_an_acceptance_back() -> None:
    """A kind that goes on only because the other one does is counted on: 22 clean and then a misread want 38."""
    found = decide(FIRST_SERIES, series(30, 25))

    assert (Decision.CONDITIONAL, 8) == (found.decision, found.still_needed)


@pytest.mark.parametrize(
    ("misread", "sentence"),
    [
        (
            series(7, 7),
            "7 trials, and trial 7 read wrong. The plan goes on to 38; 31 more without another misread are accepted.",
        ),
        (
            series(8),
            "8 trials without a misread. The plan goes on to 22; 14 more without a misread are accepted. "
            "A stop now is a conditional result.",
        ),
        (series(22), "22 trials without a misread: accepted."),
        (series(38, 4), "38 trials, and trial 4 read wrong: accepted."),
        (series(9, 2, 9), "Trials 2 and 9 read wrong. The second misread ends the series."),
        (
            series(7, aside=3),
            "7 trials, and trial 3 was set aside. The plan goes on to 38; 31 more without a misread are accepted.",
        ),
        (
            series(9, 2, aside=9),
            "Trial 2 read wrong and trial 9 was set aside. Only one trial of a kind may be: the series is not judged.",
        ),
    ],
)
def test_a_misread_is_always_named(misread: list[Came], sentence: str) -> None:
    """The standing says which trial read wrong and how far the plan goes, whatever the decision is."""
    assert sentence == decide(FIRST_SERIES, misread).sentence


# worked out apart from this code, with SciPy's binomial, to the digits given
PUBLISHED = [
    (0.01, 0.953),
    (0.02, 0.850),
    (0.05, 0.488),
    (0.10, 0.143),
    (0.139, 0.049),
    (0.20, 0.0085),
    (0.30, 0.0004),
]


@pytest.mark.parametrize(("share", "accepted"), PUBLISHED)
def test_a_share_of_misreads_is_accepted_as_often_as_stated(share: float, accepted: float) -> None:
    """The share of series accepted is the stated one to its last digit."""
    digits = 4 if accepted < 0.01 else 3

    assert accepted == round(acceptance_probability(FIRST_SERIES, share), digits)


def test_the_consumers_risk_is_five_percent_at_13_84_percent() -> None:
    """A sensor that misreads 13.84 % of all trials is accepted in 5.0 % of first series and 2.4 % of second ones."""
    assert 0.050 == round(acceptance_probability(FIRST_SERIES, 0.1384), 3)
    assert 0.024 == round(acceptance_probability(SECOND_SERIES, 0.1384), 3)
    assert 0.1384 == round(limiting_share(FIRST_SERIES), 4)


@settings(deadline=None, max_examples=100)
@given(share=st.floats(1e-9, 1), plan=st.sampled_from([FIRST_SERIES, SECOND_SERIES, SamplingPlan(6, 9)]))
def test_the_probability_is_scipys(share: float, plan: SamplingPlan) -> None:
    """None in the first lot, or one there and none in the rest: SciPy's binomial gives the same."""
    first, rest = stats.binom(plan.clean, share), stats.binom(plan.with_one - plan.clean, share)
    wanted = first.pmf(0) + first.pmf(1) * rest.pmf(0)

    assert wanted == pytest.approx(acceptance_probability(plan, share), rel=1e-9, abs=1e-15)


@pytest.mark.parametrize("plan", [SamplingPlan(3, 5, 1), SamplingPlan(4, 9, 2)], ids=repr)
def test_the_probability_is_that_of_all_series_together(plan: SamplingPlan) -> None:
    """Every possible series, stopped at its first decision, adds up to the formula exactly."""
    share = Fraction(1, 8)
    accepted = Fraction(0)
    for misread in product([RIGHT, WRONG], repeat=plan.with_one):
        looks = [decide(plan, misread[:trials]).decision for trials in range(1, plan.with_one + 1)]
        ended = next(look for look in looks if look in {Decision.ACCEPTED, Decision.REJECTED})
        wrong = misread.count(WRONG)
        weight = share**wrong * (1 - share) ** (plan.with_one - wrong)
        accepted += weight if ended is Decision.ACCEPTED else 0

    assert float(accepted) == pytest.approx(acceptance_probability(plan, float(share)), rel=1e-12)


def test_a_second_series_adds_to_the_risk() -> None:
    """At 13.84 % misread the two series together are accepted in 1 - 0.950 x 0.976 = 7.3 %."""
    first, second = (acceptance_probability(plan, 0.1384) for plan in (FIRST_SERIES, SECOND_SERIES))

    assert 0.073 == round(1 - (1 - first) * (1 - second), 3)


@pytest.mark.parametrize(("cycles", "numbers"), [(6, (22, 38)), (22, (22, 38)), (23, (23, 40)), (100, (100, 173))])
def test_more_cycles_take_more_with_a_misread(cycles: int, numbers: tuple[int, int]) -> None:
    """Beyond 22 cycles the plan grows in proportion, and so does what it shows, to one part in fifteen."""
    plan = for_cycles(FIRST_SERIES, cycles)

    assert numbers == (plan.clean, plan.with_one)
    assert limiting_share(plan) == pytest.approx(0.1384 * 22 / plan.clean, rel=1 / 15)


def test_nobody_gains_by_setting_trials_aside() -> None:
    """Whoever sets aside exactly what would read wrong is accepted in exactly the series that are accepted anyway."""
    for misread in product([RIGHT, WRONG], repeat=9):
        plan = SamplingPlan(4, 8, 1)
        for chosen in product([False, True], repeat=misread.count(WRONG)):
            choice = iter(chosen)
            seen = [ASIDE if each is WRONG and next(choice) else each for each in misread]
            assert (decide(plan, seen).decision is Decision.ACCEPTED) == (
                decide(plan, misread).decision is Decision.ACCEPTED
            )


@pytest.mark.parametrize("numbers", [(22, 22, 6), (22, 38, 23), (0, 38, 0)])
def test_a_plan_that_cannot_be_is_refused(numbers: tuple[int, int, int]) -> None:
    """A misread never makes a series shorter, and a conditional result never takes longer than a whole one."""
    with pytest.raises(ValueError, match="A plan needs"):
        SamplingPlan(*numbers)


@pytest.mark.parametrize("share", [-0.1, 1.1, float("nan")])
def test_what_is_no_probability_is_refused(share: float) -> None:
    """A share of misreads below 0 or above 1, or no number, is an error; so is such a risk."""
    with pytest.raises(ValueError, match="between 0 and 1"):
        acceptance_probability(FIRST_SERIES, share)
    with pytest.raises(ValueError, match="between 0 and 1"):
        limiting_share(FIRST_SERIES, share)


def test_the_smallest_plan_takes_one_trial() -> None:
    """One for a conditional result and without a misread, two with one; and no plan takes none."""
    plan = SamplingPlan(clean=1, with_one=2, conditional=1)

    assert (1, Decision.ACCEPTED) == (plan.conditional, decide(plan, series(1)).decision)
    with pytest.raises(ValueError, match="A plan needs"):
        SamplingPlan(clean=1, with_one=2, conditional=0)


def test_the_second_misread_is_the_last_that_is_told() -> None:
    """A third one behind it changes nothing: the series had ended."""
    standing = decide(FIRST_SERIES, series(9, 2, 5, 8))

    assert (5, (2, 5)) == (standing.trials, standing.misreads)
    assert standing.sentence.startswith("Trials 2 and 5 read wrong.")
