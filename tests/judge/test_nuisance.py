"""How often the reading can change by itself, by all that was watched: each condition for itself."""

import math

import pytest
from scipy import stats

from commission.judge.nuisance import Around, Exposed, bound_per_hour, length, not_shown_yet, rate, rate_bounds

REST, MOVING, PRINTING = Around


def test_two_clean_hours_show_one_and_a_half_an_hour() -> None:
    """-ln 0.05 / 2 h is 1.498 an hour."""
    (bound,) = rate_bounds([Exposed(REST, 7200.0, 0)])

    assert -math.log(0.05) / 2 == pytest.approx(bound.per_hour)
    assert bound.sentence == (
        "At rest: 0 unwanted changes in 2.0 h watched, which at 95 % confidence allows up to 1.5 an hour."
    )


@pytest.mark.parametrize(("changes", "hours"), [(0, 0.0001), (0, 0.01), (1, 2.0), (3, 8.0), (20, 100.0)])
def test_the_bound_is_the_exact_one(changes: int, hours: float) -> None:
    """Checked against the chi-square quantile of a reference library (scipy)."""
    (bound,) = rate_bounds([Exposed(PRINTING, 3600 * hours, changes)])

    expected = stats.chi2.ppf(0.95, 2 * changes + 2) / 2 / hours
    assert expected == pytest.approx(bound.per_hour)
    assert expected == pytest.approx(bound_per_hour(3600 * hours, changes))


def test_exposure_is_added_within_one_condition_only() -> None:
    """Two watches at rest are one; a night at rest says nothing of a print."""
    bounds = rate_bounds(
        [Exposed(REST, 60.0, 0), Exposed(REST, 3540.0, 1), Exposed(PRINTING, 100.0, 0), Exposed(MOVING, 0.0, 0)]
    )

    assert [(REST, 3600.0, 1), (PRINTING, 100.0, 0)] == [(each.around, each.seconds, each.changes) for each in bounds]


def test_what_is_not_shown_yet_is_said_with_the_way_to_show_it() -> None:
    """Below two hours at rest, however long a print was watched; with two hours nothing is missing."""
    printed = rate_bounds([Exposed(PRINTING, 90_000.0, 0)])
    minute = rate_bounds([Exposed(REST, 60.0, 0)])

    assert not_shown_yet(printed, "bench-3") == (
        "Not shown yet: how rarely the reading changes by itself, since nothing was watched at rest. To show it "
        "overnight, leave filament in and run: commission soak bench-3 --port PORT --for 8h"
    )
    assert "only 1.0 min at rest were watched" in not_shown_yet(minute)
    assert not_shown_yet(minute, "bench-3", "filament 2").endswith("--for 8h --source 'filament 2'")
    assert not not_shown_yet(rate_bounds([Exposed(REST, 7200.0, 0)]))


def test_a_watch_that_cannot_be_is_refused() -> None:
    """Less than no time, or less than no change."""
    for seconds, changes in ((-1.0, 0), (math.nan, 0), (1.0, -1)):
        with pytest.raises(ValueError, match="cannot have"):
            Exposed(REST, seconds, changes)


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(7199.4, "120.0 min"), (7199.5, "2.0 h"), (7200.0, "2.0 h"), (28_800.0, "8.0 h")],
)
def test_hours_are_told_from_two_on(seconds: float, said: str) -> None:
    """What is two hours to the second is told in hours, what is shorter in minutes."""
    assert said == length(seconds)


@pytest.mark.parametrize(
    ("per_hour", "said"),
    [(0.994, "0.99"), (1.0, "1.0"), (9.94, "9.9"), (10.0, "10"), (10.6, "11"), (180.2, "180")],
)
def test_a_rate_has_two_digits(per_hour: float, said: str) -> None:
    """Two digits mean something; above ten the whole number is told."""
    assert said == rate(per_hour)
