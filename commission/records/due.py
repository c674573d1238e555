"""Which printer is due for which check, and why: a pure read of the book, for one day."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import Enum

from commission.evidence.entry import Entry, Record, of_kind
from commission.evidence.findings.meeting import NextCheck
from commission.evidence.found import Established
from commission.evidence.runs import Note
from commission.judge.interval import BRIEF, FULL
from commission.records.book import Book
from commission.records.history import Run, runs, tags
from commission.records.notes import TRIGGERS, notes
from commission.records.open_items import ITEMS
from commission.records.purposes import BRIEF_CHECK, COMPLETE_TESTS, FULL_CHECK, HANDS_ON
from commission.records.unsettled import unsettled_of
from commission.vocabulary import Outcome, Verdict

SOON_DAYS = 7


class Standing(Enum):
    """How a printer stands on that day, worst first."""

    AT_ONCE = "due at once"
    OVERDUE = "overdue"
    SOON = "due soon"
    IN_DATE = "in date"


@dataclass(frozen=True)
class Due:
    """How one printer stands.

    Attributes:
        what: the check that comes next, `full check` or `brief check`.
        on: the day it is due.
        because: why it stands so, in half a sentence.
        brief_on, full_on: both days; None when nothing says them.
        last: the printer's last completed run with hands on.
    """

    tag: str
    standing: Standing
    what: str
    on: date
    because: str
    brief_on: date | None
    full_on: date | None
    last: Run | None


def due_list(book: Book, today: date) -> list[Due]:
    """Every printer of the book, the most urgent first."""
    records = list(book.records(Note, Established, *ITEMS))
    found = [_due(records, runs(book, tag), tag, today) for tag in tags(book)]
    order = list(Standing)
    return sorted(found, key=lambda due: (order.index(due.standing), due.on, due.tag))


def _due(records: Sequence[Record[Entry]], done: Sequence[Run], tag: str, today: date) -> Due:
    complete = [run for run in done if run.outcome is Outcome.COMPLETE and run.purpose in HANDS_ON]
    last = complete[-1] if complete else None
    brief_on, full_on = _days(records, complete)
    at_once = _at_once(records, done, complete, tag)
    if at_once:
        return Due(tag, Standing.AT_ONCE, FULL_CHECK, today, at_once, brief_on, full_on, last)
    if brief_on is None or full_on is None:
        return Due(tag, Standing.AT_ONCE, FULL_CHECK, today, "no check is on record", None, None, None)
    what, on = (FULL_CHECK, full_on) if full_on <= brief_on else (BRIEF_CHECK, brief_on)
    if on < today:
        # what was missed longest ago is not what matters: an overdue full check includes the brief one
        what = FULL_CHECK if full_on < today else what
        return Due(tag, Standing.OVERDUE, what, on, f"since {(today - on).days} days", brief_on, full_on, last)
    standing = Standing.SOON if on <= today + timedelta(days=SOON_DAYS) else Standing.IN_DATE
    return Due(tag, standing, what, on, f"in {(on - today).days} days", brief_on, full_on, last)


def _at_once(records: Sequence[Record[Entry]], done: Sequence[Run], complete: Sequence[Run], tag: str) -> str:
    """Why a full check is due at once; what calls for one is not settled by a brief one."""
    last = complete[-1] if complete else None
    if last is None:
        return "no check with hands on is on record as completed"
    against = _stands_against(records, done)
    if against:
        return against
    if last.verdict is Verdict.NOT_JUDGED:
        return f"its last {last.purpose} ({last.started_at[:10]}) was not judged"
    whole = next((run for run in reversed(complete) if run.purpose in COMPLETE_TESTS), None)
    ended = 0 if whole is None else whole.ended
    since = [note for note in notes(records, tag) if note.sequence > ended and note.entry.what in TRIGGERS]
    return f"{TRIGGERS[since[-1].entry.what]} on {since[-1].at[:10]}" if since else ""


def _stands_against(records: Sequence[Record[Entry]], done: Sequence[Run]) -> str:
    """What was found wrong and not cleared since: the newest failed test with hands first, then any other failure."""
    found = unsettled_of(done, records)
    failed = [each.run for each in found if each.failed]
    failed = [run for run in failed if run.purpose in HANDS_ON] or failed
    if failed:
        return f"its last {failed[-1].purpose} ({failed[-1].started_at[:10]}) failed"
    return f"an item of class A is open since its {found[-1].run.purpose} ({found[-1].day})" if found else ""


def _days(records: Sequence[Record[Entry]], complete: Sequence[Run]) -> tuple[date | None, date | None]:
    """The day of the next brief and of the next full check: as agreed, else by the usual intervals."""
    brief_on, full_on = None, None
    for run in complete:
        agreed = _agreed(records, run.number)
        day = date.fromisoformat(run.started_at[:10])
        brief_on = _day("" if agreed is None else agreed.brief_due) or day + timedelta(days=int(BRIEF.longest_days))
        if run.purpose in COMPLETE_TESTS:
            full_on = _day("" if agreed is None else agreed.full_due) or day + timedelta(days=int(FULL.longest_days))
    return brief_on, full_on or brief_on


def _agreed(records: Sequence[Record[Entry]], number: str) -> NextCheck | None:
    found = [record.entry.finding for record in of_kind(records, Established) if record.run == number]
    return next((finding for finding in reversed(found) if isinstance(finding, NextCheck)), None)


def _day(iso: str) -> date | None:
    return date.fromisoformat(iso) if iso else None
