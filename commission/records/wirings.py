"""The wiring of a printer that was declared without a run, where that is the newest declaration in the book."""

from collections.abc import Iterator, Sequence

from commission.evidence.entry import Entry, Record
from commission.evidence.findings.meeting import Repair
from commission.evidence.findings.series import ChangeMade
from commission.evidence.findings.wiring import Wiring
from commission.evidence.runs import REWIRING
from commission.procedure.wiring.noted import NotedWiring
from commission.records.book import Book
from commission.records.history import established, runs_and_notes
from commission.records.notes import notes_on


def noted_wirings(book: Book, tag: str, sensors: Sequence[str] = ()) -> tuple[NotedWiring, ...]:
    """The newest declaration of each sensor's wiring, as far as it was made without a run.

    Args:
        book: the record book.
        tag: the printer.
        sensors: several that the record has of it; empty where it has one.
    """
    found = []
    for sensor in sensors or ("",):
        newest = list(_declared(book, tag, sensor, sensors))[-1:]
        found += [beside_the_last_run(book, tag, each, sensor, sensors) for _, each in newest if each.source]
    return tuple(found)


def beside_the_last_run(
    book: Book, tag: str, now: Wiring, sensor: str = "", sensors: Sequence[str] = ()
) -> NotedWiring:
    """A declaration without a run beside what the last run declared of the same sensor.

    Args:
        book: the record book.
        tag: the printer.
        now: the declaration; it need not be in the book yet.
        sensor: of several the one that it is about; empty for the only one.
        sensors: several that the record has of the printer; empty where it has one.
    """
    of_runs = [each for each in _declared(book, tag, sensor, sensors) if not each[1].source]
    if not of_runs:
        return NotedWiring(now, sensor=sensor)
    record, before = of_runs[-1]
    return NotedWiring(now, before, record.at[:10], _changed_behind(book, tag, record.sequence), sensor)


def _declared(book: Book, tag: str, sensor: str, sensors: Sequence[str]) -> Iterator[tuple[Record[Entry], Wiring]]:
    """Every declaration of that sensor's wiring in order; one of before several were tested together is of each."""
    found = established(book, Wiring, runs_and_notes(book, tag))
    return (each for each in found if each[0].about.sensor == sensor or each[0].about.sensor not in sensors)


def _changed_behind(book: Book, tag: str, place: int) -> bool:
    """Whether a change of the wiring was noted behind that place of the book, or a run tells of one."""
    told = [record for kind in (Repair, ChangeMade) for record, _ in established(book, kind, runs_and_notes(book, tag))]
    noted = [note for note in notes_on(book, tag) if note.entry.what == REWIRING]
    return any(record.sequence > place for record in (*told, *noted))
