"""Whole runs of the settings commands: backup from a printer or a capture, and restore."""

from collections.abc import Sequence

from commission.asking.message import Punch, Tell, Weight
from commission.asking.request import Choose, Option
from commission.asking.steps import Steps, choose, establish
from commission.dialect.framing import RawLine
from commission.dialect.identity import Identity
from commission.dialect.understanding import understand
from commission.evidence.findings.settings import RestoreSource
from commission.jobs.install import JobResult
from commission.jobs.settings_share import states
from commission.procedure.meeting.as_found import as_found
from commission.procedure.meeting.background import Background
from commission.procedure.meeting.identify import identify
from commission.procedure.meeting.identity import same_printer
from commission.procedure.settings.as_text import keeps_a_file, settings_as_text
from commission.procedure.settings.backup import backup, backup_of_capture
from commission.procedure.settings.record import SettingsRecord, Sheet
from commission.procedure.settings.restore import restore
from commission.procedure.settings.stored_values import stored_values
from commission.vocabulary import PunchClass, Verdict

CAUTIONS = (
    "Do not run this on a printer that is printing.",
    "Settings that are put back change how the machine moves and heats: watch the first job after it.",
    "The probe offset decides how near the nozzle comes to the bed: check it before the first job.",
)

FILE_ONLY = "Nothing was put back: this printer keeps its settings in a file of its own, and no line of it is sent."

AGES = ("newest", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")
"""How the records are named to choose from; more than these are reached by the number of their run."""


def backup_run(sheet: Sheet, background: Background) -> Steps[JobResult]:
    """Identify, switches and runout control as found, settings as found; the stored ones where wanted."""
    identity = yield from _identified(background)
    if (printer := keeps_a_file(identity)) is not None:
        yield from settings_as_text(printer, sheet)
        return JobResult(Verdict.NOT_JUDGED)
    found = yield from as_found(identity)
    record = yield from backup(sheet, "" if identity is None else identity.firmware_name or "", states(found))
    if record is None:
        return JobResult(Verdict.FAIL)
    yield from stored_values(record)
    return JobResult(_verdict(record))


def capture_run(sheet: Sheet, lines: Sequence[str], name: str) -> Steps[JobResult]:
    """Settings as found from a saved capture."""
    announced = understand([RawLine.of(line) for line in lines]).identity
    firmware = "" if announced is None else announced.firmware_name or ""
    return JobResult(_verdict((yield from backup_of_capture(lines, name, sheet, firmware))))


def _verdict(record: SettingsRecord) -> Verdict:
    """A record with a gap is kept, and is no backup."""
    return Verdict.PASS if record.gaps.whole else Verdict.NOT_JUDGED


def restore_run(
    sheet: Sheet, records: Sequence[tuple[str, SettingsRecord]], background: Background
) -> Steps[JobResult]:
    """Put back the settings of one of these records, the newest first in the list.

    Args:
        sheet: the printer and the day.
        records: each with the number of its run.
        background: what is known of the printer beforehand.

    Raises:
        ValueError: there is none.
    """
    if not records:
        raise ValueError("A restore needs a record")
    yield Tell(CAUTIONS, heading="Before you begin", weight=Weight.CAUTION)
    identity = yield from _identified(background)
    if keeps_a_file(identity) is not None:
        yield Punch(PunchClass.INCOMPLETE, FILE_ONLY, "Put the printer's own files back by hand, from your copy.")
        return JobResult(Verdict.NOT_JUDGED)
    number, record = yield from _chosen(records)
    said = f"Put back from the record of {record.day}, run {number}, firmware {record.firmware or 'not known'}."
    yield from establish(RestoreSource(sentences=(said,), run=number, digest=record.snapshot.digest))
    restored = yield from restore(record, sheet, "" if identity is None else identity.firmware_name or "")
    return JobResult(restored.verdict)


def _identified(background: Background) -> Steps[Identity | None]:
    """Who answers, and whether it is the printer of that tag: settings of one printer can crash another."""
    identity = yield from identify()
    yield from same_printer(background.surroundings, identity)
    return identity


def _chosen(records: Sequence[tuple[str, SettingsRecord]]) -> Steps[tuple[str, SettingsRecord]]:
    if len(records) == 1:
        return records[0]
    keys = dict(zip(AGES, records, strict=False))
    options = tuple(Option(key, f"run {number}", _described(record)) for key, (number, record) in keys.items())
    lines = ("The record from before the reflash is the one wanted: look at its day and its firmware.",)
    return keys[(yield from choose(Choose("restore.record", "Which record is put back?", options, lines)))]


def _described(record: SettingsRecord) -> str:
    return f"{record.day}, {len(record.snapshot.lines)} lines, firmware {record.firmware or 'not known'}"
