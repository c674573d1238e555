"""Which printer is due for which check, and why: a pure read of the book, for one day."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import Enum
from operator import attrgetter

from commission.evidence.entry import Record
from commission.evidence.findings.meeting import NextCheck
from commission.evidence.place import rank_of
from commission.evidence.runs import Note
from commission.judge.interval import BRIEF, FULL, UsualInterval
from commission.records.book import Book
from commission.records.history import Run, deciding_runs, established, runs
from commission.records.notes import TRIGGERS
from commission.records.purposes import BRIEF_CHECK, COMPLETE_TESTS, FULL_CHECK, HANDS_ON
from commission.records.several import looked_at_a_part
from commission.records.unsettled import Unsettled, unsettled_of_printers
from commission.vocabulary import Outcome, Verdict

SOON_DAYS = 7
IN_DOUBT = "by the benches' clocks it is not sure which test was the last"


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
    return dues_of(book, deciding_runs(book), today)


def due_of(book: Book, tag: str, today: date) -> Due | None:
    """How that printer stands; None where nothing is on record of it."""
    done = runs(book, tag)
    return dues_of(book, {tag: done}, today)[0] if done else None


@dataclass(frozen=True)
class Against:
    """What is on record of printers beside their runs.

    Attributes:
        unsettled: what was found wrong and not cleared since, of each printer.
        noted: the notes on each; of some there are none.
    """

    unsettled: Mapping[str, Sequence[Unsettled]]
    noted: Mapping[str, Sequence[Record[Note]]]


def against_printers(book: Book, printers: Mapping[str, Sequence[Run]]) -> Against:
    """The same of these printers, each given with its runs."""
    noted: dict[str, list[Record[Note]]] = {}
    for note in book.records(Note):
        noted.setdefault(note.entry.tag_of_printer, []).append(note)
    return Against(unsettled_of_printers(book, printers), noted)


def dues_of(book: Book, printers: Mapping[str, Sequence[Run]], today: date, known: Against | None = None) -> list[Due]:
    """These printers, the most urgent first, each given with its runs.

    Args:
        book: the record book.
        printers: with their runs.
        today: the day.
        known: what is on record of them, where it was asked before.
    """
    against = known or against_printers(book, printers)
    parts = looked_at_a_part(book, printers)
    complete = {tag: _complete([run for run in done if run.number not in parts]) for tag, done in printers.items()}
    agreed = _agreed(book, complete.values())
    found = [_due(tag, complete[tag], agreed, against, today) for tag in printers]
    order = list(Standing)
    doubtful = {tag for tag, done in printers.items() if _order_in_doubt(book, complete[tag], done)}
    found = [replace(due, because=f"{due.because}; {IN_DOUBT}") if due.tag in doubtful else due for due in found]
    return sorted(found, key=lambda due: (order.index(due.standing), due.on, due.tag))


def _order_in_doubt(book: Book, complete: Sequence[Run], done: Sequence[Run]) -> bool:
    """Whether another bench may have tested the printer after what is taken for its last test, or failed it."""
    failed = [run for run in done if run.outcome is Outcome.COMPLETE and run.verdict is Verdict.FAIL]
    newest = {rank_of(run.ended): run.ended for run in sorted([*complete, *failed], key=attrgetter("ended"))}
    last = max(newest.values(), default=0)
    return any(book.may_be_later(each, last) for rank, each in newest.items() if rank != rank_of(last))


def _complete(done: Sequence[Run]) -> list[Run]:
    return [run for run in done if run.outcome is Outcome.COMPLETE and run.purpose in HANDS_ON]


def _due(
    tag: str,
    complete: Sequence[Run],
    agreed: Mapping[str, NextCheck],
    against: Against,
    today: date,
) -> Due:
    if not complete:
        because = "no check with hands on is on record as completed"
        return Due(tag, Standing.AT_ONCE, FULL_CHECK, today, because, None, None, None)
    last = complete[-1]
    brief_on, full_on = _days(agreed, complete)
    at_once = _at_once(complete, against.unsettled[tag], against.noted.get(tag, ()))
    if at_once:
        return Due(tag, Standing.AT_ONCE, FULL_CHECK, today, at_once, brief_on, full_on, last)
    what, on = (FULL_CHECK, full_on) if full_on <= brief_on else (BRIEF_CHECK, brief_on)
    if on < today:
        # what was missed longest ago is not what matters: an overdue full check includes the brief one
        what = FULL_CHECK if full_on < today else what
        return Due(tag, Standing.OVERDUE, what, on, f"since {(today - on).days} days", brief_on, full_on, last)
    standing = Standing.SOON if on <= today + timedelta(days=SOON_DAYS) else Standing.IN_DATE
    return Due(tag, standing, what, on, f"in {(on - today).days} days", brief_on, full_on, last)


def _at_once(complete: Sequence[Run], against: Sequence[Unsettled], noted: Sequence[Record[Note]]) -> str:
    """Why a full check is due at once; what calls for one is not settled by a brief one."""
    last = complete[-1]
    if against:
        return _stands_against(against)
    if last.verdict is Verdict.NOT_JUDGED:
        return f"its last {last.purpose} ({last.started_at[:10]}) was not judged"
    whole = _newest_whole(complete)
    ended = 0 if whole is None else whole.ended
    since = [note for note in noted if note.sequence > ended and note.entry.what in TRIGGERS]
    return f"{TRIGGERS[since[-1].entry.what]} on {since[-1].at[:10]}" if since else ""


def _stands_against(found: Sequence[Unsettled]) -> str:
    """What was found wrong and not cleared since: the newest failed test with hands first, then any other failure."""
    failed = [each.run for each in found if each.failed]
    failed = [run for run in failed if run.purpose in HANDS_ON] or failed
    if failed:
        return f"its last {failed[-1].purpose} ({failed[-1].started_at[:10]}) failed"
    return f"an item of class A is open since its {found[-1].run.purpose} ({found[-1].day})"


def _newest_whole(complete: Sequence[Run]) -> Run | None:
    return next((run for run in reversed(complete) if run.purpose in COMPLETE_TESTS), None)


def _days(agreed: Mapping[str, NextCheck], complete: Sequence[Run]) -> tuple[date, date]:
    """The day of the next brief and of the next full check: as agreed, else by the usual intervals."""
    whole = _newest_whole(complete)
    brief_on = _day_after(complete[-1], agreed, "brief_due", BRIEF)
    return brief_on, brief_on if whole is None else _day_after(whole, agreed, "full_due", FULL)


def _day_after(run: Run, agreed: Mapping[str, NextCheck], which: str, usual: UsualInterval) -> date:
    said = getattr(agreed.get(run.number), which, "")
    if said:
        return date.fromisoformat(said)
    return date.fromisoformat(run.started_at[:10]) + timedelta(days=int(usual.longest_days))


def _agreed(book: Book, complete: Iterable[Sequence[Run]]) -> Mapping[str, NextCheck]:
    """What was agreed in the runs that decide, by their numbers."""
    deciding = {run.number for done in complete for run in ((done[-1], _newest_whole(done)) if done else ()) if run}
    return {record.run: finding for record, finding in established(book, NextCheck, deciding)}
