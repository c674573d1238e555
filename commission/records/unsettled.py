"""What earlier runs of a printer found wrong and no later test has cleared: failures, and open items of class A.

Only a completed test with hands clears anything, and only one that looks at least as deep as the one that found it: an
unattended check never clears, a brief check clears what brief and unattended checks found, and what a whole test found
takes a whole test. The pause is looked at by a function test, or by a whole test that passed in full.
"""

import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from commission.evidence.entry import AnyRecord
from commission.records.book import Book
from commission.records.history import Run, runs
from commission.records.open_items import ITEMS, is_unsafe, still_open
from commission.records.purposes import COMPLETE_TESTS, FUNCTION_TEST, HANDS_ON
from commission.vocabulary import Outcome, Verdict

PASSED = (Verdict.PASS, Verdict.CONDITIONAL)


@dataclass(frozen=True)
class Unsettled:
    """One thing that stands against a printer.

    Attributes:
        run: the run that found it.
        what: the open item; empty for a run that failed as a whole.
    """

    run: Run
    what: str = ""

    @property
    def failed(self) -> bool:
        """Whether it is the failure of a whole run."""
        return not self.what

    @property
    def sentence(self) -> str:
        """What it is, with its day."""
        if self.failed:
            return f"The {self.run.purpose} of {self.day} failed."
        return f"Found on {self.day} and open since, class A: {self.what}"

    @property
    def day(self) -> str:
        """The day on which that run began."""
        return self.run.started_at[:10]


def unsettled(book: Book, tag: str) -> list[Unsettled]:
    """What stands against the printer, oldest first, each thing once."""
    done = runs(book, tag)
    return unsettled_of(done, book.records(*ITEMS, runs={run.number for run in done}))


def left_standing(book: Book, tag: str, purpose: str, verdict: Verdict, taken_up: str = "") -> list[Unsettled]:
    """What would still stand against the printer if a run that begins now came to this verdict.

    Args:
        book: the record book.
        tag: the owner's name for the printer.
        purpose: of that run.
        verdict: what it comes to.
        taken_up: the number of the run, if it is one that is taken up; what it found itself is left out.
    """
    done = [run for run in runs(book, tag) if run.number != taken_up]
    now = Run("", tag, purpose, "", outcome=Outcome.COMPLETE, verdict=verdict, began=sys.maxsize)
    return unsettled_of([*done, now], book.records(*ITEMS, runs={run.number for run in done}))


def unsettled_of(done: Sequence[Run], records: Iterable[AnyRecord]) -> list[Unsettled]:
    """The same, from the printer's runs and the records that open and settle items, among any others."""
    items: dict[str, list[AnyRecord]] = {}
    for record in records:
        items.setdefault(record.run, []).append(record)
    found = [each for run in done for each in _of_run(run, items.get(run.number, []), done)]
    return list(_once(found).values())


def _once(found: Iterable[Unsettled]) -> dict[tuple[str, str], Unsettled]:
    """Each thing once, however many nights a timer found it: an item since when it is open, a failure as the last."""
    once: dict[tuple[str, str], Unsettled] = {}
    for each in found:
        key = (each.what, each.run.purpose if each.failed else "")
        if each.failed:
            once.pop(key, None)
        once.setdefault(key, each)
    return once


def _of_run(run: Run, records: Sequence[AnyRecord], done: Sequence[Run]) -> list[Unsettled]:
    found = []
    if run.outcome is Outcome.COMPLETE and run.verdict is Verdict.FAIL and not _cleared(run, run.ended, done):
        found.append(Unsettled(run))
    for item in still_open(records):
        if is_unsafe(item) and not _cleared(run, item.sequence, done):
            found.append(Unsettled(run, item.entry.text))
    return found


def _cleared(found_by: Run, at: int, done: Sequence[Run]) -> bool:
    """Whether a test that began after that place in the book cleared what this run found there."""
    return any(at < later.began and _clears(later, found_by) for later in done)


def _clears(later: Run, earlier: Run) -> bool:
    if later.outcome is not Outcome.COMPLETE or later.verdict not in PASSED:
        return False
    if earlier.purpose == FUNCTION_TEST:
        whole = later.purpose in COMPLETE_TESTS and later.verdict is Verdict.PASS
        return whole or later.purpose == FUNCTION_TEST
    if earlier.purpose in COMPLETE_TESTS:
        return later.purpose in COMPLETE_TESTS
    return later.purpose in HANDS_ON
