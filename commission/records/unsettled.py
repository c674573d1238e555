"""What earlier runs of a printer found wrong and no later test has cleared: failures, and open items of class A.

Only a completed test with hands clears anything, and only one that looks at least as deep as the one that found it: an
unattended check never clears, a brief check clears what brief and unattended checks found, and what a whole test found
takes a whole test. The pause is looked at by a function test, or by a whole test that passed in full. Of a printer with
several sensors a test that looks at fewer of them clears nothing.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from commission.evidence.entry import AnyRecord
from commission.evidence.place import BEHIND_EVERYTHING
from commission.records.book import Book
from commission.records.history import Run, runs
from commission.records.open_items import ITEMS, is_unsafe, still_open
from commission.records.purposes import COMPLETE_TESTS, FUNCTION_TEST, HANDS_ON, MOTION
from commission.records.several import looked_at_a_part
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
    return unsettled_of_printers(book, {tag: runs(book, tag)})[tag]


def left_standing(
    book: Book, tag: str, purpose: str, verdict: Verdict, taken_up: str = "", *, in_part: bool = False
) -> list[Unsettled]:
    """What would still stand against the printer if a run that begins now came to this verdict.

    Args:
        book: the record book.
        tag: the owner's name for the printer.
        purpose: of that run.
        verdict: what it comes to.
        taken_up: the number of the run, if it is one that is taken up; what it found itself is left out.
        in_part: it looks at one of several sensors.
    """
    done = [run for run in runs(book, tag) if run.number != taken_up]
    now = Run("", tag, purpose, "", outcome=Outcome.COMPLETE, verdict=verdict, began=BEHIND_EVERYTHING)
    return unsettled_of_printers(book, {tag: done if in_part else [*done, now]})[tag]


def unsettled_of_printers(book: Book, printers: Mapping[str, Sequence[Run]]) -> dict[str, list[Unsettled]]:
    """The same of several printers, each given with its runs."""
    parts = looked_at_a_part(book, printers)
    cleared = {tag: _Cleared(run for run in done if run.number not in parts) for tag, done in printers.items()}
    # only what is of class A stands against a printer, and what clears the last item of a run clears all of them
    unsafe = book.once("unsafe items", book.runs_with_unsafe_items)
    looked_at = {
        run.number
        for tag, done in printers.items()
        for run in done
        if run.number in unsafe and not cleared[tag](run, unsafe[run.number])
    }
    items: dict[str, list[AnyRecord]] = {}
    for record in book.records(*ITEMS, runs=looked_at):
        items.setdefault(record.run, []).append(record)
    return {tag: _of_printer(done, items, cleared[tag]) for tag, done in printers.items()}


def _of_printer(done: Sequence[Run], items: Mapping[str, Sequence[AnyRecord]], cleared: "_Cleared") -> list[Unsettled]:
    return list(_once(each for run in done for each in _of_run(run, items.get(run.number, ()), cleared)).values())


def _once(found: Iterable[Unsettled]) -> dict[tuple[str, str], Unsettled]:
    """Each thing once, however many nights a timer found it: an item since when it is open, a failure as the last."""
    once: dict[tuple[str, str], Unsettled] = {}
    for each in found:
        key = (each.what, each.run.purpose if each.failed else "")
        if each.failed:
            once.pop(key, None)
        once.setdefault(key, each)
    return once


def _of_run(run: Run, records: Sequence[AnyRecord], cleared: "_Cleared") -> Iterator[Unsettled]:
    if run.outcome is Outcome.COMPLETE and run.verdict is Verdict.FAIL and not cleared(run, run.ended):
        yield Unsettled(run)
    for item in still_open(records):
        if is_unsafe(item) and not cleared(run, item.sequence):
            yield Unsettled(run, item.entry.text)


class _Cleared:
    """Whether a test that began after a place in the book cleared what a run found there.

    Args:
        done: the printer's runs.
    """

    def __init__(self, done: Iterable[Run]) -> None:
        self._newest: dict[str, int] = {}
        for run in done:
            for depth in _clears(run):
                self._newest[depth] = max(run.began, self._newest.get(depth, 0))

    def __call__(self, found_by: Run, at: int) -> bool:
        return at < self._newest.get(_depth(found_by), 0)


_PAUSE, _WHOLE, _HANDS, _MOVEMENT = "the pause", "everything", "what hands show", "movement"


def _depth(run: Run) -> str:
    """How deep the test must look that clears what this run found."""
    if run.purpose == FUNCTION_TEST:
        return _PAUSE
    if run.purpose == MOTION:
        return _MOVEMENT
    return _WHOLE if run.purpose in COMPLETE_TESTS else _HANDS


def _clears(run: Run) -> Iterator[str]:
    """How deep it looked itself, if it came to its end and found nothing wrong."""
    if run.outcome is not Outcome.COMPLETE or run.verdict not in PASSED:
        return
    whole = run.purpose in COMPLETE_TESTS
    if run.purpose == FUNCTION_TEST or (whole and run.verdict is Verdict.PASS):
        yield _PAUSE
    if run.purpose == MOTION:
        yield _MOVEMENT
    if whole:
        yield _WHOLE
    if run.purpose in HANDS_ON:
        yield _HANDS
