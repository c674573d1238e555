"""What a done phase was answered, read back from the book for a run that is taken up again."""

from collections.abc import Sequence

from commission.evidence.entry import Entry, Record
from commission.evidence.runs import PhaseEnded, PhaseStarted
from commission.procedure.reread import ANSWERS, Given, given_by
from commission.records.book import Book


def given_in(book: Book, run: str, phase: str) -> tuple[Given, ...]:
    """The answers of the run's newest carrying out of the phase, in order; none where it came to no end."""
    records = list(book.records(PhaseStarted, PhaseEnded, *ANSWERS, run=run))
    return tuple(given_by(record.entry) for record in _inside(records, phase) if isinstance(record.entry, ANSWERS))


def _inside(records: Sequence[Record[Entry]], phase: str) -> Sequence[Record[Entry]]:
    began = _last(records, PhaseStarted, phase)
    ended = _last(records, PhaseEnded, phase)
    return records[began:ended] if 0 <= began < ended else ()


def _last(records: Sequence[Record[Entry]], kind: type[PhaseStarted | PhaseEnded], phase: str) -> int:
    """The place of the newest such entry of the phase; -1 where there is none."""
    entries = [record.entry for record in records]
    places = (at for at, entry in enumerate(entries) if isinstance(entry, kind) and entry.name == phase)
    return max(places, default=-1)
