"""The newest filament reserve that the book holds of a printer, and what was changed since it was worked out."""

from heapq import merge
from operator import attrgetter

from commission.evidence.entry import AnyRecord
from commission.evidence.findings.function import Reserve
from commission.evidence.findings.meeting import IdentityAfterReflash, PrinterIdentity, Repair
from commission.evidence.findings.series import ChangeMade
from commission.evidence.found import Established
from commission.evidence.runs import REWIRING, Note
from commission.procedure.function.reserve_on_record import ReserveOnRecord
from commission.records.book import Book
from commission.records.history import runs
from commission.records.notes import INCIDENT, REFLASH, TRIGGERS, notes_on

MOVED = (REWIRING, REFLASH, INCIDENT)
"""Notes after which neither path nor firmware need be what they were."""


def reserve_on_record(book: Book, tag: str) -> ReserveOnRecord | None:
    """The newest reserve that was worked out; None where none was. One that was left out replaces none."""
    days = {run.number: run.started_at[:10] for run in runs(book, tag)}
    of_runs = book.records(Established, runs=days)
    noted = notes_on(book, tag)
    firmware: dict[str, str] = {}
    kept: ReserveOnRecord | None = None
    for record in merge(of_runs, noted, key=attrgetter("sequence")):
        match record.entry:
            case Established(finding=PrinterIdentity(firmware_name=name) | IdentityAfterReflash(firmware_name=name)):
                firmware[record.run] = name or ""
            case Established(finding=Reserve() as found) if (reserve := found.found) is not None:
                kept = ReserveOnRecord(reserve, days[record.run], firmware.get(record.run, ""))
        changed = _changed(record, tag)
        if kept is not None and changed and not kept.changed:
            kept = ReserveOnRecord(kept.reserve, kept.day, kept.firmware, changed)
    return kept


def _changed(record: AnyRecord, tag: str) -> str:
    """What the record says was changed of the printer, in words; empty for nothing."""
    match record.entry:
        case Note(tag_of_printer=of, what=what) if of == tag and what in MOVED:
            return TRIGGERS[what]
        case Established(finding=Repair(repair=repair)):
            return f"a repair was done: {repair.value}"
        case Established(finding=ChangeMade(what=what)):
            return f"something was changed: {what}"
        case Established(finding=IdentityAfterReflash()):
            return "the firmware was put on the board anew"
    return ""
