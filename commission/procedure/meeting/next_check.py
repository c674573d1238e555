"""Agrees the date of the next check with the owner: by the usual intervals, or worked out from how the printer is used.

The arithmetic is in `judge.interval`; here it is asked for, shown with its assumptions, and put to the owner.
"""

import math
from dataclasses import dataclass
from datetime import date, timedelta

from commission.asking.form import Answers, FormRow
from commission.asking.message import Tell
from commission.asking.request import Confirm, Enter, EntryKind
from commission.asking.steps import Steps, confirm, enter, establish, recall
from commission.evidence.findings.meeting import USUAL, WORKED_OUT, NextCheck, UseValues
from commission.judge.interval import BRIEF, FULL, Demand, History, IntervalFinding, next_interval

TRIGGERS_SENTENCE = (
    "At once, whatever the date: after a reflash, rewiring, a crash or a moved printer, with a new filament family, "
    "and after any nuisance trip."
)
BY_USUAL = Confirm(
    "next_check.usual",
    "Plan the next check by the usual intervals?",
    ("Usual: a brief check every month, a full one every half year.",),
)
_MOST_TRIES = 5


@dataclass(frozen=True)
class Calendar:
    """What a date is worked out from, besides the owner's answers.

    Attributes:
        today: the day of this check.
        first_day: the day of the first check that was passed; today when this is the first.
        hidden_failures: failures found by checks, which nobody had noticed before.
        full: whether this check includes all that a full one does.
        full_due: the day on which the full check is due already; None when none was ever completed.
    """

    today: date
    first_day: date
    hidden_failures: int = 0
    full: bool = True
    full_due: date | None = None

    def __post_init__(self) -> None:
        if self.first_day > self.today or self.hidden_failures < 0:
            raise ValueError("A history begins before today, and its failures are counted from 0.")

    @property
    def history(self) -> History:
        """The evidence for the failure rate; the first day counts as one day of use."""
        return History(self.hidden_failures, max(1.0, float((self.today - self.first_day).days)))


def next_check(calendar: Calendar) -> Steps[None]:
    """Propose both dates, show where they come from, and record whether the owner agrees."""
    demand = yield from _demand()
    if demand is None:
        brief, full = _usual(calendar)
        basis = [
            f"By practice: a brief check after {BRIEF.longest_days:g} days, a full one after {FULL.longest_days:g}."
        ]
        used: UseValues = {}
    else:
        found_brief = next_interval(demand, calendar.history, BRIEF)
        found = next_interval(demand, calendar.history, FULL)
        brief, full = found_brief.due(calendar.today), found.due(calendar.today)
        basis = [f"Full check. {found.sentences[0]}", *found.sentences[1:-1], *_brief_sentences(found_brief)]
        used = _values(demand, calendar.history, found, found_brief)
    brief, full = _with_full(calendar, brief, full)
    basis += [] if calendar.full else _still_open(calendar, full)
    yield Tell((*basis, TRIGGERS_SENTENCE, f"Proposed: brief check by {brief}, full check by {full}."), heading="Next")
    yield from _agree(calendar, brief, full, basis, used)


def next_check_rows(given: Answers, calendar: Calendar) -> tuple[FormRow, ...]:
    """The rows of a sheet: the usual intervals and, with them, what the owner agrees to."""
    usual = FormRow(BY_USUAL, "Next check by the usual intervals", usual=True)
    if given.get(BY_USUAL.key) is False:
        return (usual,)
    brief, full = _with_full(calendar, *_usual(calendar))
    return usual, FormRow(_agreed(brief, full), f"Owner agrees to a brief check by {brief}, full by {full}", usual=True)


def _usual(calendar: Calendar) -> tuple[date, date]:
    return calendar.today + _days(BRIEF.longest_days), calendar.today + _days(FULL.longest_days)


def _with_full(calendar: Calendar, brief: date, full: date) -> tuple[date, date]:
    """Both dates, where a brief check moves no full one."""
    if not calendar.full:
        full = calendar.full_due or brief
    return min(brief, full) if full > calendar.today else brief, full


def _agreed(brief: date, full: date) -> Confirm:
    return Confirm("next_check.agreed", f"Does the owner agree to {brief} and {full}?")


def _still_open(calendar: Calendar, full: date) -> list[str]:
    """A brief check moves no full one."""
    if calendar.full_due is None:
        return ["No installation or full check is on record as completed: the next check is to be a full one."]
    if full <= calendar.today:
        return [f"The full check was due by {full} and still is: a brief one does not replace it."]
    return []


def _days(days: float) -> timedelta:
    return timedelta(days=math.floor(days))


def _demand() -> Steps[Demand | None]:
    if (yield from confirm(BY_USUAL)):
        return None
    earlier = yield from recall(NextCheck, earlier=True)
    demand = None if earlier is None else earlier.demand
    if demand is not None:
        said = (
            f"{demand.runouts_per_year:g} unattended runouts a year, {demand.tolerated_per_year:g} of them may go "
            f"unprotected, {demand.print_hours_per_day:g} hours of printing a day.",
        )
        if (yield from confirm(Confirm("next_check.as_before", "Is the printer used as last time?", said))):
            return demand
    runouts = yield from _number("runouts_per_year", "How often does filament run out with nobody near?", "a year")
    tolerated = yield from _number(
        "tolerated_per_year", "How often may that go unprotected (0.1 is once in ten years)?", "a year"
    )
    hours = yield from _number("print_hours_per_day", "How long does it print, averaged over all days?", "h a day", 24)
    return Demand(runouts, tolerated, hours)


def _number(name: str, question: str, unit: str, most: float = 10000) -> Steps[float]:
    least = 0.0 if most <= 24 else 0.001
    return float((yield from enter(Enter(f"next_check.{name}", question, EntryKind.NUMBER, unit, least, most))))


def _brief_sentences(found: IntervalFinding) -> tuple[str, ...]:
    return (f"Brief check. {found.sentences[1]}", found.sentences[2])


def _values(demand: Demand, history: History, full: IntervalFinding, brief: IntervalFinding) -> UseValues:
    return {
        "runouts_per_year": demand.runouts_per_year,
        "tolerated_per_year": demand.tolerated_per_year,
        "print_hours_per_day": demand.print_hours_per_day,
        "hidden_failures": history.hidden_failures,
        "history_days": history.days,
        "calculated_days": full.calculated_days,
        "full_days": full.interval_days,
        "brief_days": brief.interval_days,
        "hidden_exposure_days": full.hidden_exposure_days,
    }


def _agree(calendar: Calendar, brief: date, full: date, basis: list[str], used: UseValues) -> Steps[None]:
    agreed = yield from confirm(_agreed(brief, full))
    if agreed:
        said = f"Next brief check by {brief}, next full check by {full}; the owner agrees."
    else:
        full = yield from _own_date(calendar.today, full)
        brief = min(brief, full)
        said = f"Next brief check by {brief}, next full check by {full}: a date of the owner's own."
    yield from establish(
        NextCheck(
            sentences=(said, *basis, TRIGGERS_SENTENCE),
            brief_due=brief.isoformat(),
            full_due=full.isoformat(),
            agreed=agreed,
            owners_own=not agreed,
            basis=WORKED_OUT if used else USUAL,
            **used,
        )
    )


def _own_date(today: date, proposed: date) -> Steps[date]:
    for _ in range(_MOST_TRIES):
        question = f"Which date does the owner want for the full check (YYYY-MM-DD; empty for {proposed})?"
        text = yield from enter(Enter("next_check.own_date", question, optional=True))
        if not text.strip():
            return proposed
        try:
            wanted = date.fromisoformat(text.strip())
        except ValueError:
            yield Tell((f"{text!r} is no date. Write it as {proposed}.",))
            continue
        if wanted > today:
            return wanted
        yield Tell((f"{wanted} is not after today, {today}.",))
    yield Tell((f"No date could be understood; {proposed} stands.",))
    return proposed
