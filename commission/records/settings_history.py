"""Every settings report that the book holds of one printer."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from commission.records.book import Book
from commission.records.history import runs


@dataclass(frozen=True)
class Reported:
    """One settings report of the book.

    Attributes:
        run: number of the run it belongs to.
        at: when it was written, ISO 8601 with offset.
        name: the finding it is, as `settings_as_found`.
        facts: the finding's facts.
    """

    run: str
    at: str
    name: str
    facts: dict[str, Any]


def settings_reports(book: Book, tag: str, names: Collection[str]) -> list[Reported]:
    """The reports under these names of the printer's runs, oldest first."""
    numbers = {run.number for run in runs(book, tag)}
    findings = (entry for entry in book.entries(kind="finding") if entry.run in numbers)
    return [
        Reported(entry.run, entry.at, entry.facts["name"], entry.facts["facts"])
        for entry in findings
        if entry.facts["name"] in names
    ]
