"""The settings reports of a printer, read from the book for a command."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from commission.cli.opening import opened_book
from commission.cli.tag import no_such_printer
from commission.cli.telling import remark
from commission.evidence.findings.settings import SettingsAsFound
from commission.procedure.settings.record import SNAPSHOTS, SettingsRecord
from commission.records.history import tags
from commission.records.settings_history import settings_reports
from commission.settings.snapshot import NoReport

if TYPE_CHECKING:
    from commission.records.place import Place


@dataclass(frozen=True)
class Recorded:
    """One settings report with the run and the moment it was written, and the finding it is."""

    run: str
    at: str
    name: str
    record: SettingsRecord


def recorded(book: "Place | None", tag: str, *, as_found_only: bool = False) -> list[Recorded]:
    """The printer's reports, oldest first; one that cannot be read is named and left out.

    Raises:
        Ending: there is no book, or it cannot be used.
        click.UsageError: other printers are on record, and this one is not.
    """
    with opened_book(book) as opened:
        if tag not in (known := tags(opened)) and known:
            raise no_such_printer(tag, known)
        reports = settings_reports(opened, tag, (SettingsAsFound,) if as_found_only else SNAPSHOTS)
    found = []
    for record, report in reports:
        name = report.name()
        try:
            found.append(Recorded(record.run, record.at, name, SettingsRecord.on_record(report)))
        except NoReport as unreadable:
            remark(f"Run {record.run}, {name}: left out. {unreadable}")
    return found
