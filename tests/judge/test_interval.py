"""The next interval against published examples, and held within the usual ones."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.judge.interval import (
    BRIEF,
    FULL,
    Demand,
    History,
    failure_finding_interval,
    mean_unavailability,
    next_interval,
)
from commission.judge.stability import poisson_upper

HOURS_PER_YEAR = 8760


def test_the_detector_example_is_met() -> None:
    """20 detectors in 4 years with 8 failures, to be 99 % available, are tested every 0.2 years."""
    # RCM - A Practical Guide, V1, p. 45
    interval_years = failure_finding_interval(20 * 4 / 8, 0.01, 1)

    assert 0.2 == pytest.approx(interval_years)
    assert 73 == pytest.approx(365 * interval_years)


@pytest.mark.parametrize(
    ("availability", "percent", "exact"),
    # published: same guide, p. 45; exact for a constant rate: recomputed
    [
        (99.95, 0.1, 0.10003),
        (99.9, 0.2, 0.20013),
        (99.5, 1, 1.00335),
        (99, 2, 2.01345),
        (97, 6, 6.12308),
        (95, 10, 10.34788),
    ],
)
def test_the_availability_table_is_met(availability: float, percent: float, exact: float) -> None:
    """The interval in percent of the mean time between failures equals the table and stays below the exact one."""
    unavailability = 1 - availability / 100

    assert percent == pytest.approx(failure_finding_interval(100, unavailability, 1))
    assert unavailability == pytest.approx(mean_unavailability(1, exact / 100), rel=5e-5)
    assert percent < exact


def test_the_multiple_failure_form_reduces_to_the_simple_one() -> None:
    """M_tive 10, M_ted 200 and M_mf 1e6 years give 0.004 years, twice the product over the tolerated time."""
    assert 0.004 == pytest.approx(failure_finding_interval(10, 200, 1e6))
    assert 2 * 3 * 5 / 700 == pytest.approx(failure_finding_interval(3, 5, 700))


def test_parallel_devices_stretch_the_interval() -> None:
    """With n devices the interval is M_tive times the n-th root of (n+1) M_ted / M_mf."""
    # attributed to SAE JA1012 in a vendor's help page
    assert 10 * (3 * 200 / 1e6) ** 0.5 == pytest.approx(failure_finding_interval(10, 200, 1e6, devices=2))


@pytest.mark.parametrize(
    ("rate_per_h", "linear", "exact"),
    # a training text prints 8.76e-3 for the first; exact values recomputed
    [(2e-6, 8.76e-3, 8.709065e-3), (1e-5, 0.0438, 0.0425486)],
)
def test_mean_unavailability_is_just_below_the_linear_form(rate_per_h: float, linear: float, exact: float) -> None:
    """A yearly test has half rate times interval as its unavailability, slightly more than the exact mean."""
    assert linear == pytest.approx(rate_per_h * HOURS_PER_YEAR / 2)
    assert exact == pytest.approx(mean_unavailability(rate_per_h, HOURS_PER_YEAR), rel=1e-5)


def test_small_rates_lose_no_digits() -> None:
    """Where the formula would subtract equal numbers, half the product is met to eight digits."""
    assert 5e-9 == pytest.approx(mean_unavailability(1e-8, 1), rel=1e-8)
    x = 0.99e-4
    assert x / 2 - x**2 / 6 + x**3 / 24 == pytest.approx(mean_unavailability(1, x), rel=1e-8), "the series of e^-x"


def test_interval_and_unavailability_are_one_equation() -> None:
    """Testing at the interval for an unavailability gives that unavailability, for small ones."""
    assert 0.001 == pytest.approx(mean_unavailability(1 / 500, failure_finding_interval(500, 0.001, 1)), rel=1e-3)


def test_little_evidence_rests_on_practice() -> None:
    """After a month without a failure the calculated interval is hours, and the shortest usual one is taken."""
    found = next_interval(Demand(12, 0.1, 8), History(0, 30))

    assert found.calculated_days < 1
    assert (30, 15) == (found.interval_days, found.hidden_exposure_days)
    assert any("rests on practice, not on evidence" in sentence for sentence in found.sentences)
    assert any("By calculation: 0.2 days" in sentence for sentence in found.sentences)


def test_much_evidence_does_not_stretch_the_usual_interval() -> None:
    """With a thousand clean years of use the usual interval still holds."""
    found = next_interval(Demand(1, 1, 2), History(0, 365_000))

    assert 182 == found.interval_days
    assert found.calculated_days > 182
    assert any("does not stretch it" in sentence for sentence in found.sentences)


def test_between_the_limits_the_calculation_is_taken() -> None:
    """A calculated interval within the usual limits is the one proposed: T = 2 · tolerated / (rate · demand)."""
    history = History(0, 3000)
    found = next_interval(Demand(12, 1, 2), history)

    expected = 2 * (1 / poisson_upper(0, 3000, 0.95)) * (1 / 12)
    assert expected == pytest.approx(found.interval_days)
    assert 30 < expected < 182


def test_a_calculation_that_meets_a_limit_is_taken() -> None:
    """Where it comes to exactly the longest or the shortest usual interval, neither gives way to the other."""
    demand, history = Demand(12, 1, 2), History(0, 3000)
    days = next_interval(demand, history).calculated_days

    for usual in (replace(FULL, longest_days=days), replace(FULL, shortest_days=days)):
        assert "lies within the usual limits" in next_interval(demand, history, usual).sentences[2]


@pytest.mark.parametrize(("days", "said"), [(9.9, "9.9 days"), (10, "10 days"), (10.6, "11 days")])
def test_days_are_whole_from_ten_on(days: float, said: str) -> None:
    """Below ten a tenth of a day is told."""
    assert f" in {said} of use" in next_interval(Demand(12, 1, 2), History(0, days)).sentences[0]


def test_heavy_use_brings_the_usual_interval_forward() -> None:
    """At 20 hours a day, 1500 hours are over after 75 days and 250 after 12.5."""
    assert 75 == FULL.longest_in_use_days(20)
    assert 12.5 == BRIEF.longest_in_use_days(20)
    assert 182 == FULL.longest_in_use_days(0)
    assert 15 == replace(FULL, print_hours=7.5).longest_in_use_days(0.5)


def test_practice_is_told_with_all_its_limits() -> None:
    """Days, hours of printing and spools, common practice, no source; the shortest is a week, or a month."""
    brief, full = (next_interval(Demand(12, 0.1, 20), History(0, 30), usual) for usual in (BRIEF, FULL))

    assert brief.sentences[1] == (
        "By practice, brief check: every 30 days, 250 hours of printing or 10 spools, whichever comes first; 12 days "
        "at 20 hours a day."
    )
    assert full.sentences[1] == (
        "By practice, full check: every 182 days, 1500 hours of printing or 50 spools, whichever comes first; 75 days "
        "at 20 hours a day."
    )
    assert (7, 30) == (brief.interval_days, full.interval_days)


def test_the_due_date_is_rounded_towards_the_check() -> None:
    """A brief check at 20 hours a day falls due after 12 whole days."""
    found = next_interval(Demand(1, 1, 20), History(0, 365_000), BRIEF)

    assert date(2024, 3, 13) == found.due(date(2024, 3, 1))
    assert date(2024, 3, 2) == replace(found, interval_days=0.4).due(date(2024, 3, 1)), "a day at least"


def test_a_blind_switch_is_called_blind() -> None:
    """When the bound leaves the switch blind for more than a twentieth of the time, a sentence says so."""
    assert any("more than a twentieth" in s for s in next_interval(Demand(12, 1, 8), History(2, 90)).sentences)


@settings(deadline=None, max_examples=60)
@given(st.floats(0.01, 500), st.floats(1e-4, 50), st.floats(0, 24), st.integers(0, 20), st.floats(1, 1e5))
def test_every_interval_lies_within_the_usual_ones(
    demand: float, tolerated: float, hours: float, failures: int, days: float
) -> None:
    """Whatever the evidence, the interval is no longer than the usual one and hides a failure for half of it."""
    for usual in (BRIEF, FULL):
        found = next_interval(Demand(demand, tolerated, hours), History(failures, days), usual)
        assert 0 < found.interval_days <= usual.longest_days
        assert found.interval_days / 2 == found.hidden_exposure_days
        assert "The owner agrees the date." == found.sentences[-1]


def test_what_cannot_be_is_refused() -> None:
    """Rates, times and histories that cannot be are errors."""
    with pytest.raises(ValueError, match="numbers above 0"):
        Demand(0, 1, 1)
    with pytest.raises(ValueError, match="0 to 24 hours"):
        Demand(1, 1, 25)
    for days, confidence in ((0, 0.95), (30, 1.0)):
        with pytest.raises(ValueError, match="history counts"):
            History(0, days, confidence)
    with pytest.raises(ValueError, match="Mean times"):
        failure_finding_interval(0, 1, 1)
    with pytest.raises(ValueError, match="rate and an interval"):
        mean_unavailability(0, 1)
    with pytest.raises(ValueError, match="rate and an interval"):
        mean_unavailability(1, 0)
