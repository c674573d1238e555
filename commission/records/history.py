"""Questions to the book: which runs there are, what became of them, which is the newest of a printer."""

from collections import deque
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeVar

from commission.evidence.entry import AnyRecord, Record, Unreadable
from commission.evidence.findings.base import Finding
from commission.evidence.found import Established
from commission.evidence.runs import RunEnded, RunResumed, RunStarted, tag_in
from commission.records.book import MARKS, Book
from commission.records.run_lock import run_under_way
from commission.vocabulary import Outcome, Verdict

_F = TypeVar("_F", bound=Finding)


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
        unreadable: why its beginning or its end cannot be read; empty when both can.
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
    unreadable: str = ""


def runs(book: Book, tag: str | None = None) -> list[Run]:
    """All runs, oldest first; of one printer if a tag is given. One that a process is at work on now is under way."""
    marks: dict[str, list[AnyRecord]] = {}
    for mark in book.every_record(*MARKS):
        marks.setdefault(mark.run, []).append(mark)
    found = [_run(of) for of in marks.values() if _is(of[0], RunStarted)]
    found = [run for run in found if tag is None or run.tag == tag]
    at_work = {each: run_under_way(book.path, each) for each in {run.tag for run in found if not run.ended}}
    return [
        replace(run, outcome=Outcome.UNDER_WAY) if not run.ended and run.number == at_work[run.tag] else run
        for run in found
    ]


def same_printer_before(book: Book, number: str) -> list[str]:
    """The numbers of the other runs of that run's printer."""
    known = runs(book)
    tags = {run.tag for run in known if run.number == number}
    return [run.number for run in known if run.tag in tags and run.number != number]


def end_that_stands(marks: Iterable[AnyRecord]) -> AnyRecord | None:
    """The end of a run, from its marks in order; None where it has none since it was last taken up.

    The first one stands: books of earlier days hold runs whose end was written twice, and what a run came to is not
    taken back by what went wrong after it.

    Args:
        marks: the entries that begin, take up or end the run, and any others.
    """
    end: AnyRecord | None = None
    for mark in marks:
        if _is(mark, RunResumed):
            end = None
        elif _is(mark, RunEnded) and end is None:
            end = mark
    return end


def newest_run(book: Book, tag: str) -> Run | None:
    """The printer's last run, whatever became of it."""
    return next(reversed(runs(book, tag)), None)


def tags(book: Book) -> list[str]:
    """Every printer the book knows, in alphabetical order."""
    return sorted({run.tag for run in runs(book)})


def established(book: Book, kind: type[_F], numbers: Collection[str]) -> Iterator[tuple[Record[Established], _F]]:
    """Every finding of that kind in the runs with these numbers, each with its record, in order."""
    for record in book.records(Established, runs=numbers):
        if isinstance(record.entry.finding, kind):
            yield record, record.entry.finding


def newest_finding(book: Book, kind: type[_F], numbers: Collection[str]) -> _F | None:
    """The newest finding of that kind in the runs with these numbers; None when there is none."""
    newest = deque(established(book, kind, numbers), maxlen=1)
    return newest[0][1] if newest else None


def _run(marks: Sequence[AnyRecord]) -> Run:
    """A run whose entries were altered is still told, as far as they can be read."""
    started, ended = marks[0], end_that_stands(marks)
    run = Run(
        number=started.run,
        tag=tag_in(started.run),
        purpose="",
        started_at=started.at,
        began=max(mark.sequence for mark in marks if not _is(mark, RunEnded)),
        unreadable="; ".join(f"entry {m.sequence}: {m.entry.why}" for m in marks if isinstance(m.entry, Unreadable)),
    )
    if isinstance(started.entry, RunStarted):
        run = replace(run, tag=started.entry.tag, purpose=started.entry.purpose)
    if ended is not None:
        run = replace(run, ended_at=ended.at, ended=ended.sequence)
        if isinstance(ended.entry, RunEnded):
            run = replace(run, outcome=ended.entry.outcome, verdict=ended.entry.verdict)
    return run


def _is(mark: AnyRecord, kind: type[RunStarted | RunResumed | RunEnded]) -> bool:
    """Whether the book lists the entry as one of this kind, be it readable or not."""
    told = mark.entry.kind if isinstance(mark.entry, Unreadable) else mark.entry.kind()
    return told == kind.kind()
