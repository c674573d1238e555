"""What a printer's installation left open, and its newest whole test and the runs since: what a check begins with."""

from collections.abc import Iterable

from commission.evidence.entry import AnyRecord, Record, of_kind
from commission.evidence.runs import PhaseEnded, PhaseStarted
from commission.evidence.talk import HoldReleased, Punched
from commission.records.book import Book
from commission.records.history import runs
from commission.records.purposes import COMPLETE_TESTS, INSTALL
from commission.vocabulary import Outcome, PunchClass

ITEMS = (Punched, HoldReleased)
"""The entries that open an item, and that settle one."""


def still_open(records: Iterable[AnyRecord]) -> list[Record[Punched]]:
    """The items of one run that nothing later in it settled, in order."""
    left: list[Record[Punched]] = []
    for record in records:
        match record.entry:
            case Punched():
                left += of_kind([record], Punched)
            case HoldReleased(key=key):
                left = [item for item in left if not key or item.entry.settled_by != key]
    return left


def unsafe_in(book: Book, number: str) -> int:
    """How many items of class A a run has open, over all its parts."""
    return sum(map(is_unsafe, still_open(book.records(*ITEMS, run=number))))


def unsafe_by_phase(book: Book, number: str) -> list[tuple[str, Punched]]:
    """The open items of class A that a run raised in phases, each with the phase; one begun again raises them anew."""
    phase = ""
    found: list[tuple[str, Punched]] = []
    for record in book.records(*ITEMS, PhaseStarted, PhaseEnded, run=number):
        match record.entry:
            case PhaseStarted(name=name):
                phase, found = name, [each for each in found if each[0] != name]
            case PhaseEnded():
                phase = ""
            case HoldReleased(key=key):
                found = [each for each in found if not key or each[1].settled_by != key]
            case Punched(grade=PunchClass.UNSAFE) as item if phase:
                found.append((phase, item))
    return found


def is_unsafe(item: Record[Punched]) -> bool:
    """Whether the item is one of class A."""
    return item.entry.grade is PunchClass.UNSAFE


def open_items(book: Book, tag: str) -> list[str]:
    """Each open item once, as a sentence with its day and class, oldest first.

    The book knows when an item was opened. Whether it was put right since is for the next test to show, so everything
    from the newest completed whole test on is told; and what the installation found, which no check looks at again.
    """
    done = [run for run in runs(book, tag) if run.outcome is Outcome.COMPLETE]
    whole = max((place for place, run in enumerate(done) if run.purpose in COMPLETE_TESTS), default=0)
    installed = [run for run in done[:whole] if run.purpose == INSTALL][-1:]
    days = {run.number: run.started_at[:10] for run in (*installed, *done[whole:])}
    told: dict[tuple[str, str], str] = {}
    records = list(book.records(*ITEMS, runs=days))
    for number, day in days.items():
        for item in still_open(record for record in records if record.run == number):
            grade, text = item.entry.grade.value, item.entry.text
            told.setdefault((grade, text), f"{day}, class {grade}: {text}")
    return list(told.values())
