"""What a done phase was answered, read back from the book for a run that is taken up again."""

from collections.abc import Iterator, Sequence

from commission.asking.reread import RecordedAnswer
from commission.asking.table import ANSWERS
from commission.evidence.entry import Entry, Record
from commission.evidence.findings import KINDS
from commission.evidence.findings.base import Finding
from commission.evidence.runs import PhaseEnded, PhaseStarted
from commission.evidence.talk import RecallAsked, Recalled
from commission.records.book import Book
from commission.records.history import established, same_printer_before


def given_in(book: Book, run: str, phase: str) -> tuple[RecordedAnswer, ...]:
    """The answers of the run's newest carrying out of the phase, in order.

    None where the phase came to no end, or where a finding that was read back in it cannot be found any more.
    """
    records = list(book.records(PhaseStarted, PhaseEnded, Recalled, *ANSWERS, run=run))
    try:
        return tuple(_answers(book, run, _inside(records, phase)))
    except _Gone:
        return ()


class _Gone(Exception):
    """What was read back then is not in the book now."""


def _answers(book: Book, run: str, records: Sequence[Record[Entry]]) -> Iterator[RecordedAnswer]:
    found: Finding | None = None
    for record in records:
        match record.entry:
            case RecallAsked():
                found = _found_then(book, run, record.entry, record.sequence)
                yield RecordedAnswer(record.entry, found)
            case Recalled(found=was_found):
                if was_found is not (found is not None):
                    raise _Gone
            case PhaseStarted() | PhaseEnded():
                pass
            case entry:
                yield RecordedAnswer(entry)


def _found_then(book: Book, run: str, asked: RecallAsked, sequence: int) -> Finding | None:
    """The newest such finding that stood in the book before that entry: entries are only ever added."""
    kind = KINDS.get(asked.name)
    if kind is None:
        return None
    numbers = same_printer_before(book, run) if asked.earlier else [run]
    found = established(book, kind, numbers)
    before = [
        finding for record, finding in found if record.sequence < sequence and record.about.sensor not in asked.not_of
    ]
    return before[-1] if before else None


def _inside(records: Sequence[Record[Entry]], phase: str) -> Sequence[Record[Entry]]:
    began = _last(records, PhaseStarted, phase)
    ended = _last(records, PhaseEnded, phase)
    return records[began:ended] if 0 <= began < ended else ()


def _last(records: Sequence[Record[Entry]], kind: type[PhaseStarted | PhaseEnded], phase: str) -> int:
    """The place of the newest such entry of the phase; -1 where there is none."""
    entries = [record.entry for record in records]
    places = (at for at, entry in enumerate(entries) if isinstance(entry, kind) and entry.name == phase)
    return max(places, default=-1)
