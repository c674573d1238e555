"""Printers with several sensors, from the book: which they are, and which runs looked at all of them."""

from collections.abc import Mapping, Sequence

from commission.evidence.findings.several import SensorsToTest
from commission.records.book import Book
from commission.records.history import Run, established, newest_finding, runs


def sensors_on_record(book: Book, tag: str) -> tuple[str, ...]:
    """The printer's sensors as they were tested together last; empty where it has one."""
    found = newest_finding(book, SensorsToTest, [run.number for run in runs(book, tag)])
    return () if found is None else found.sensors


def looked_at_a_part(book: Book, printers: Mapping[str, Sequence[Run]]) -> set[str]:
    """The runs that tested fewer sensors than their printer had by then: they clear nothing, and move no date."""
    numbers = {run.number for done in printers.values() for run in done}
    of_run = {record.run: set(found.sensors) for record, found in established(book, SensorsToTest, numbers)}
    if not of_run:
        return set()
    parts: set[str] = set()
    for done in printers.values():
        all_of_it: set[str] = set()
        for run in done:
            if run.number and all_of_it - of_run.get(run.number, set()):
                parts.add(run.number)
            all_of_it = of_run.get(run.number, all_of_it)
    return parts
