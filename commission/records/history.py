"""Questions to the book: which runs there are, what became of them, which is the newest of a printer."""

from collections import deque
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from heapq import merge
from operator import attrgetter
from typing import TypeVar

from commission.evidence.entry import AnyRecord, Entry, Record, Unreadable
from commission.evidence.findings import KINDS
from commission.evidence.findings.base import Finding
from commission.evidence.findings.several import SensorsToTest
from commission.evidence.findings.wiring import Wiring
from commission.evidence.found import Established
from commission.evidence.place import number_in_chain
from commission.evidence.runs import Note, RunEnded, RunResumed, RunStarted, tag_in
from commission.records.book import MARKS, Book
from commission.records.facts import Fact, Line
from commission.records.notes import notes_of
from commission.records.run_lock import run_under_way
from commission.vocabulary import Outcome, Verdict

_F = TypeVar("_F", bound=Finding)


@dataclass(frozen=True, slots=True)
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
        first: where in the book it begins.
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
    first: int = field(default=0, compare=False)


def runs(book: Book, tag: str | None = None) -> list[Run]:
    """All runs, oldest first; of one printer if a tag is given. One that a process is at work on now is under way."""
    return _runs(book, None) if tag is None else list(book.once(("runs", tag), lambda: _runs(book, tag)))


def _runs(book: Book, tag: str | None) -> list[Run]:
    found = [run for run in _told(book, book.marks(tag)) if tag is None or run.tag == tag]
    at_work = {each: run_under_way(book.path, each) for each in {run.tag for run in found if not run.ended}}
    return [
        replace(run, outcome=Outcome.UNDER_WAY) if not run.ended and run.number == at_work[run.tag] else run
        for run in found
    ]


def _told(book: Book, marks: Iterable[Line | list[Fact]]) -> list[Run]:
    """The runs with these marks, oldest first."""
    told = (_plain(of_run) if isinstance(of_run, Line) else _run(book, of_run) for of_run in marks)
    return sorted((run for run in told if run is not None), key=attrgetter("first"))


def runs_by_printer(book: Book) -> dict[str, list[Run]]:
    """Every printer the book knows, in alphabetical order, each with its runs, oldest first."""
    return _by_printer(runs(book))


def deciding_runs(book: Book) -> dict[str, list[Run]]:
    """The same with the runs alone that decide how each printer stands, and perhaps others; see `deciding`.

    The newest run of a printer is among them, and the newest completed one of each purpose. Whether somebody is at work
    is not looked at: what has no end is broken off.
    """
    return _by_printer(_told(book, book.deciding_marks([SensorsToTest.name()])))


def _by_printer(every: Iterable[Run]) -> dict[str, list[Run]]:
    found: dict[str, list[Run]] = {}
    for run in every:
        found.setdefault(run.tag, []).append(run)
    return dict(sorted(found.items()))


def same_printer_before(book: Book, number: str) -> list[str]:
    """The numbers of the other runs of that run's printer, and what stands in place of one in the notes on it."""
    first = next(book.every_record(RunStarted, run=number), None)
    if first is None:
        return []
    tag = first.entry.tag if isinstance(first.entry, RunStarted) else tag_in(number)
    return [each for each in runs_and_notes(book, tag) if each != number]


def runs_and_notes(book: Book, tag: str) -> list[str]:
    """The numbers of the printer's runs, and what stands in place of one in the notes on it."""
    return [*(run.number for run in runs(book, tag)), notes_of(tag)]


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
    return list(runs_by_printer(book))


def established(book: Book, kind: type[_F], numbers: Collection[str]) -> Iterator[tuple[Record[Entry], _F]]:
    """Every finding of that kind in the runs with these numbers, each with its record, in order.

    Where what stands in place of a number in notes is among them, a wiring that such a note declares is one too.
    """
    names = [name for name, each in KINDS.items() if issubclass(each, kind)]
    noted: Iterable[Record[Entry]] = book.records(Note, runs=numbers) if issubclass(Wiring, kind) else ()
    for record in merge(book.findings(names, numbers), noted, key=attrgetter("sequence")):
        match record.entry:
            case Established(finding=found) | Note(wiring=found) if isinstance(found, kind):
                yield record, found


def newest_finding(book: Book, kind: type[_F], numbers: Collection[str], not_of: Collection[str] = ()) -> _F | None:
    """The newest finding of that kind in the runs with these numbers; None when there is none.

    Args:
        book: the record book.
        kind: of finding.
        numbers: of the runs.
        not_of: sensors whose findings are passed over.
    """
    found = ((record, each) for record, each in established(book, kind, numbers) if record.about.sensor not in not_of)
    newest = deque(found, maxlen=1)
    return newest[0][1] if newest else None


def _plain(line: Line) -> Run:
    """A run that was never taken up again."""
    if line.ended_at is None:
        return Run(line.run, line.tag, line.purpose, line.started_at, began=line.began, first=line.began)
    outcome, verdict = _OUTCOMES[line.outcome or ""], _VERDICTS[line.verdict or ""]
    place = (line.began, line.last)
    return Run(
        line.run, line.tag, line.purpose, line.started_at, line.ended_at, outcome, verdict, *place, first=line.began
    )


def _run(book: Book, marks: Sequence[Fact]) -> Run | None:
    """A run whose entries were altered is still told, as far as they can be read; None where it has no beginning."""
    started, ended = marks[0], _end(marks)
    if started.kind != RunStarted.kind():
        return None
    outcome, verdict = Outcome.BROKEN_OFF, Verdict.NOT_JUDGED
    if ended is not None and ended.told:
        outcome, verdict = _OUTCOMES[ended.word or ""], _VERDICTS[ended.verdict or ""]
    return Run(
        number=started.run,
        tag=tag_in(started.run) if started.tag is None else started.tag,
        purpose=started.word or "",
        started_at=started.at,
        ended_at="" if ended is None else ended.at,
        outcome=outcome,
        verdict=verdict,
        began=[mark.sequence for mark in marks if mark.kind != _END][-1],
        ended=0 if ended is None else ended.sequence,
        unreadable=_unreadable(book, started.run) if None in [mark.word for mark in marks] else "",
        first=started.sequence,
    )


def _end(marks: Iterable[Fact]) -> Fact | None:
    """The end that stands, by the same rule as `end_that_stands`."""
    end: Fact | None = None
    for mark in marks:
        if mark.kind == _RESUMED:
            end = None
        elif mark.kind == _END and end is None:
            end = mark
    return end


def _unreadable(book: Book, number: str) -> str:
    marks = book.every_record(*MARKS, run=number)
    return "; ".join(
        f"entry {number_in_chain(m.sequence)}: {m.entry.why}" for m in marks if isinstance(m.entry, Unreadable)
    )


_OUTCOMES = {each.value: each for each in Outcome}
_VERDICTS = {each.value: each for each in Verdict}
_END, _RESUMED = RunEnded.kind(), RunResumed.kind()


def _is(mark: AnyRecord, kind: type[RunStarted | RunResumed | RunEnded]) -> bool:
    """Whether the book lists the entry as one of this kind, be it readable or not."""
    told = mark.entry.kind if isinstance(mark.entry, Unreadable) else mark.entry.kind()
    return told == kind.kind()
