"""Questions to the book: which runs there are, what became of them, which is the newest of a printer."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from commission.records.book import ENDED, RESUMED, STARTED, Book
from commission.records.chain import Entry
from commission.records.run_lock import run_under_way
from commission.vocabulary import Outcome, Verdict

_T = TypeVar("_T")


@dataclass(frozen=True)
class Run:
    """One run as its entries tell it.

    Attributes:
        number: unique in the book, printed on the report.
        tag: the owner's name for the printer.
        purpose: `install` or another job.
        started_at: wall time, ISO 8601 with offset.
        ended_at: the same, or empty when the run never came to its end.
        began: where in the book its newest part begins; it has several when it was broken off and taken up again.
        ended: where in the book its end stands; 0 without one.
    """

    number: str
    tag: str
    purpose: str
    started_at: str
    ended_at: str = ""
    outcome: Outcome = Outcome.BROKEN_OFF
    verdict: Verdict = Verdict.NOT_JUDGED
    began: int = field(default=0, compare=False)
    ended: int = field(default=0, compare=False)


def runs(book: Book, tag: str | None = None) -> list[Run]:
    """All runs, oldest first; of one printer if a tag is given. One that a process is at work on now is under way."""
    marks: dict[str, list[Entry]] = {}
    for mark in entries_of_kinds(book, (STARTED, RESUMED, ENDED)):
        marks.setdefault(mark.run, []).append(mark)
    found = [_run(of) for of in marks.values() if of[0].kind == STARTED]
    found = [run for run in found if tag is None or run.tag == tag]
    at_work = {each: run_under_way(book.path, each) for each in {run.tag for run in found if not run.ended}}
    return [
        replace(run, outcome=Outcome.UNDER_WAY) if not run.ended and run.number == at_work[run.tag] else run
        for run in found
    ]


def end_that_stands(marks: Iterable[tuple[str, _T]]) -> _T | None:
    """The end of a run, from its marks in order; None where it has none since it was last taken up.

    The first one stands: books of earlier days hold runs whose end was written twice, and what a run came to is not
    taken back by what went wrong after it.

    Args:
        marks: the kind of each entry that begins, takes up or ends the run, with anything that stands for it.
    """
    end: _T | None = None
    for kind, mark in marks:
        if kind == RESUMED:
            end = None
        elif kind == ENDED and end is None:
            end = mark
    return end


def newest_run(book: Book, tag: str) -> Run | None:
    """The printer's last run, whatever became of it."""
    return next(reversed(runs(book, tag)), None)


def tags(book: Book) -> list[str]:
    """Every printer the book knows, in alphabetical order."""
    return sorted({run.tag for run in runs(book)})


def newest_finding(book: Book, name: str, numbers: Collection[str]) -> dict[str, Any] | None:
    """The facts of the newest finding of that name in the runs with these numbers; None when there is none."""
    facts: dict[str, Any] | None = None
    for entry in book.entries(kind="finding"):
        if entry.run in numbers and entry.facts["name"] == name:
            facts = entry.facts["facts"]
    return facts


def _run(marks: Sequence[Entry]) -> Run:
    """A run whose entries were altered is still told, as far as they can be read."""
    started, ended = marks[0], end_that_stands((mark.kind, mark) for mark in marks)
    facts, end = _readable(started), {} if ended is None else _readable(ended)
    outcomes, verdicts = {each.value: each for each in Outcome}, {each.value: each for each in Verdict}
    return Run(
        number=started.run,
        tag=str(facts.get("tag", started.run.partition("/")[0])),
        purpose=str(facts.get("purpose", "")),
        started_at=started.at,
        ended_at="" if ended is None else ended.at,
        outcome=outcomes.get(str(end.get("outcome")), Outcome.BROKEN_OFF),
        verdict=verdicts.get(str(end.get("verdict")), Verdict.NOT_JUDGED),
        began=max(mark.sequence for mark in marks if mark.kind != ENDED),
        ended=0 if ended is None else ended.sequence,
    )


def _readable(entry: Entry) -> dict[str, Any]:
    try:
        return entry.facts
    except (TypeError, ValueError):
        return {}


def entries_of_kinds(book: Book, kinds: Iterable[str]) -> list[Entry]:
    """The entries of several kinds in the order of the book; the bytes of the wire stay where they are."""
    return sorted((entry for kind in kinds for entry in book.entries(kind=kind)), key=lambda entry: entry.sequence)


def facts_of(entries: Iterable[Entry], kind: str) -> list[dict[str, object]]:
    """The facts of all entries of one kind, in order."""
    return [entry.facts for entry in entries if entry.kind == kind]
