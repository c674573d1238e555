"""Every settings report that the book holds of one printer."""

from commission.evidence.entry import Entry, Record
from commission.evidence.findings.settings import SettingsReported
from commission.records.book import Book
from commission.records.history import established, runs


def settings_reports(
    book: Book, tag: str, kinds: tuple[type[SettingsReported], ...]
) -> list[tuple[Record[Entry], SettingsReported]]:
    """The reports of these kinds in the printer's runs, each with its record, oldest first."""
    numbers = {run.number for run in runs(book, tag)}
    found = established(book, SettingsReported, numbers)
    return [(record, report) for record, report in found if isinstance(report, kinds)]
