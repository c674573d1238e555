"""When to test again: the failure-finding interval, held against the usual intervals of the trade.

A presence switch that has failed towards *in* is hidden until filament runs out or somebody tests it. The multiple-
failure form asks how often both may come together: with M_tive the mean time between failures of the switch, M_ted
between runouts and M_mf the tolerated time between unprotected ones, test every T = 2 · M_tive · M_ted / M_mf. Source:
failure-finding task intervals of reliability-centred maintenance; the usual intervals are common practice, no source.
"""

import math
from dataclasses import dataclass
from datetime import date, timedelta

from commission.judge.stability import poisson_upper
from commission.judge.wording import confidence_words, counted

# above this unavailability the linear form is no longer close (it stays on the careful side)
LINEAR_UP_TO = 0.05


@dataclass(frozen=True)
class UsualInterval:
    """What people keep to, whichever comes first.

    Attributes:
        name: how it is called in a sentence.
        shortest_days: nobody tests more often than this without a reason.
        longest_days: calendar limit.
        print_hours: limit in hours of printing.
        spools: limit in spools used.
    """

    name: str
    shortest_days: float
    longest_days: float
    print_hours: float
    spools: int

    def longest_in_use_days(self, print_hours_per_day: float) -> float:
        """The calendar limit, or the hours of printing if they come first; days."""
        if print_hours_per_day <= 0:
            return self.longest_days
        return min(self.longest_days, self.print_hours / print_hours_per_day)


BRIEF = UsualInterval("brief check", shortest_days=7, longest_days=30, print_hours=250, spools=10)
FULL = UsualInterval("full check", shortest_days=30, longest_days=182, print_hours=1500, spools=50)


@dataclass(frozen=True)
class Demand:
    """How the printer is used and what its owner tolerates.

    Attributes:
        runouts_per_year: times filament runs out with nobody near.
        tolerated_per_year: unprotected runouts the owner accepts, as an average.
        print_hours_per_day: averaged over all days.
    """

    runouts_per_year: float
    tolerated_per_year: float
    print_hours_per_day: float

    def __post_init__(self) -> None:
        if not (0 < self.runouts_per_year < math.inf and 0 < self.tolerated_per_year < math.inf):
            raise ValueError("Runouts per year, expected and tolerated, are numbers above 0.")
        if not 0 <= self.print_hours_per_day <= 24:
            raise ValueError(f"A day has 0 to 24 hours of printing, not {self.print_hours_per_day}.")


@dataclass(frozen=True)
class History:
    """What is known of the switch: hidden failures found, in how many days of use, and how sure the bound shall be."""

    hidden_failures: int
    days: float
    confidence: float = 0.95

    def __post_init__(self) -> None:
        if self.hidden_failures < 0 or not 0 < self.days < math.inf or not 0 < self.confidence < 1:
            raise ValueError("A history counts failures from 0 up, over more than 0 days, with a confidence below 1.")

    @property
    def failures_per_day(self) -> float:
        """Upper bound on the failure rate, per day: see poisson_upper."""
        return poisson_upper(self.hidden_failures, self.days, self.confidence)


@dataclass(frozen=True)
class IntervalFinding:
    """The next interval, with how it came about.

    Attributes:
        calculated_days: what evidence and demand alone give.
        usual: the usual interval it was held against.
        usual_days: its limit at this rate of use.
        interval_days: the one proposed.
        hidden_exposure_days: how long a failure stays hidden on average, half the interval.
        sentences: both intervals, why one was taken, and every assumption.
    """

    calculated_days: float
    usual: UsualInterval
    usual_days: float
    interval_days: float
    hidden_exposure_days: float
    sentences: tuple[str, ...]

    def due(self, last: date) -> date:
        """The day of the next check: whole days, rounded down, at least one."""
        return last + timedelta(days=max(1, math.floor(self.interval_days)))


def failure_finding_interval(m_tive: float, m_ted: float, m_mf: float, devices: int = 1) -> float:
    """T = M_tive · [(n+1) · M_ted / M_mf]^(1/n), in the unit of the arguments; n = 1 is 2 · M_tive · M_ted / M_mf.

    Args:
        m_tive: mean time between failures of one protecting device.
        m_ted: mean time between demands.
        m_mf: tolerated mean time between multiple failures.
        devices: parallel devices, each of which protects.

    Raises:
        ValueError: a time that is not above 0, or no device.
    """
    if min(m_tive, m_ted, m_mf) <= 0 or devices < 1:
        raise ValueError(f"Mean times are above 0 and there is a device, not {m_tive}, {m_ted}, {m_mf}, {devices}.")
    return m_tive * math.pow((devices + 1) * m_ted / m_mf, 1 / devices)


def mean_unavailability(rate: float, interval: float) -> float:
    """Share of time a hidden failure is present, exactly for a constant rate: 1 - (1 - e^-x) / x with x = rate · T.

    The linear form x / 2 is always the larger. Source: average probability of failure on demand, single channel.

    Raises:
        ValueError: a rate or interval that is not above 0.
    """
    x = rate * interval
    if not (rate > 0 and interval > 0 and math.isfinite(x)):
        raise ValueError(f"A rate and an interval above 0 are needed, not {rate} and {interval}.")
    if x < 1e-4:
        # the series avoids subtracting two numbers that are nearly equal
        return x / 2 - x**2 / 6
    return 1 + math.expm1(-x) / x


def next_interval(demand: Demand, history: History, usual: UsualInterval = FULL) -> IntervalFinding:
    """The interval that evidence and demand give, held within the usual limits, with every assumption as a sentence."""
    rate_per_day = history.failures_per_day
    # the last two in years: only the one over the other counts
    calculated = failure_finding_interval(1 / rate_per_day, 1 / demand.runouts_per_year, 1 / demand.tolerated_per_year)
    usual_days = usual.longest_in_use_days(demand.print_hours_per_day)
    shortest = min(usual.shortest_days, usual_days)
    interval = min(max(calculated, shortest), usual_days)
    exposure = interval / 2
    return IntervalFinding(
        calculated_days=calculated,
        usual=usual,
        usual_days=usual_days,
        interval_days=interval,
        hidden_exposure_days=exposure,
        sentences=(
            _calculated_sentence(calculated, demand, history),
            _usual_sentence(usual, usual_days, demand),
            _choice_sentence(calculated, shortest, usual_days),
            f"A failure stays hidden for {_days(exposure)} on average, half the interval.",
            *_assumptions(rate_per_day, interval),
        ),
    )


def _days(days: float) -> str:
    return f"{days:.1f} days" if days < 10 else f"{days:.0f} days"


def _calculated_sentence(calculated: float, demand: Demand, history: History) -> str:
    return (
        f"By calculation: {_days(calculated)}, from {demand.runouts_per_year:g} unattended runouts a year of which "
        f"{demand.tolerated_per_year:g} may go unprotected, and {counted(history.hidden_failures, 'hidden failure')} "
        "in "
        f"{_days(history.days)} of use (rate bound at {confidence_words(history.confidence)} confidence)."
    )


def _usual_sentence(usual: UsualInterval, usual_days: float, demand: Demand) -> str:
    return (
        f"By practice, {usual.name}: every {_days(usual.longest_days)}, {usual.print_hours:g} hours of printing or "
        f"{usual.spools} spools, whichever comes first; {_days(usual_days)} at {demand.print_hours_per_day:g} hours "
        "a day."
    )


def _choice_sentence(calculated: float, shortest: float, usual_days: float) -> str:
    if calculated > usual_days:
        return "The usual interval is the shorter and is taken: evidence from a few checks does not stretch it."
    if calculated < shortest:
        return (
            f"The evidence is too little to support {_days(shortest)}, the shortest usual interval, which is taken: "
            "the date rests on practice, not on evidence, until more checks are on record."
        )
    return "The calculated interval lies within the usual limits and is taken."


def _assumptions(rate_per_day: float, interval: float) -> tuple[str, ...]:
    unavailable = mean_unavailability(rate_per_day, interval)
    linear = (
        ()
        if unavailable <= LINEAR_UP_TO
        else (
            "At the bound the switch would be blind for more than a twentieth of the time, where the linear formula is "
            "only a careful estimate.",
        )
    )
    return (
        *linear,
        "Assumed: failures come at a constant rate; a check finds every hidden failure and the repair is as good as "
        "new; "
        "runouts and failures have nothing to do with each other; nothing is changed between the checks.",
        "The owner agrees the date.",
    )
