"""Phase: the settings as found, safe in the book before anything is changed."""

from collections.abc import Sequence

from commission.asking.message import Punch, Tell
from commission.asking.phase import Phase, carried_out, steps_of
from commission.asking.steps import Steps, ask, establish, keep, recall
from commission.command_lines import BACKUP_OF_A_FILE
from commission.dialect.commands import COUNTERS
from commission.dialect.replies import ReplyKind
from commission.evidence.findings.settings import (
    BackupProven,
    Counters,
    DoubtedLine,
    SettingsAsFound,
    SettingsFiles,
    SettingsGaps,
    SettingsNotKept,
    SettingsPlausibility,
)
from commission.procedure.settings.reading import SettingsRead, read_settings
from commission.procedure.settings.record import SettingsRecord, Sheet
from commission.settings.plain_file import plain_file
from commission.settings.plan_items import Decision
from commission.settings.plausibility import Finding, findings_of
from commission.settings.readable_file import readable_file
from commission.settings.restore_plan import restorable_lines
from commission.settings.snapshot import NoReport
from commission.vocabulary import PunchClass

BACKUP = Phase("backup", "Settings as found: kept before anything is changed", "the record of the settings")
"""Nothing but another printer makes it void: after a change the settings as found cannot be read again."""
EXPLAINED = (
    "Two sets of settings exist: the working values the printer runs by, and the stored ones it loads when it starts.",
    "This asks for the working values, until they come the same twice in a row. It changes nothing.",
    "Tuning that was never saved: if opening the port restarted the board, it was gone before this began.",
)


@steps_of(BACKUP)
def backup(sheet: Sheet, firmware: str, sections: dict[str, Sequence[str]]) -> Steps[SettingsRecord | None]:
    """Take the settings as found and prove that the book holds them.

    Args:
        sheet: the printer and the day.
        firmware: as announced; empty when it is not.
        sections: what else was found, for the readable file, by title.

    Returns:
        The record; None when there is none that could be relied on.
    """
    yield Tell(EXPLAINED, heading="What is kept")
    read = yield from read_settings()
    if read.trouble:
        yield from _not_kept(read)
        return None
    record = read.record(sheet, firmware)
    counters = yield from _counters()
    yield from record_as_found(record, sheet, {**sections, **counters})
    return (yield from proven(record))


def backup_of_capture(lines: Sequence[str], name: str, sheet: Sheet, firmware: str) -> Steps[SettingsRecord]:
    """Take the settings from a capture that was saved in some console; nothing is asked of a printer.

    Raises:
        NoReport: it holds no settings.
    """
    # Whether the capture is whole cannot be known from it alone; its gaps are named, the operator answers for the rest.
    record = SettingsRecord(tuple(lines), name, sheet.day, firmware)
    phase = BACKUP.titled(f"Settings as found, from the capture {name}")
    yield from carried_out(phase, record_as_found(record, sheet, {}))
    return record


def record_as_found(record: SettingsRecord, sheet: Sheet, sections: dict[str, Sequence[str]]) -> Steps[None]:
    """Put the record into the book and write its two files."""
    earlier = yield from earlier_record()
    snapshot = record.snapshot
    findings = findings_of(snapshot, side="before", record=earlier.snapshot if earlier else None)
    how = f"asked {record.reads} times, the last two the same" if record.complete else f"from {record.source}"
    said = [f"Settings as found: {len(snapshot.lines)} settings lines, {how}. SHA-256 {snapshot.digest[:16]}..."]
    said += [f"Note: {notice}" for notice in snapshot.notices]
    if snapshot.kept:
        said.append(f"{len(snapshot.kept)} lines of it are not understood and are kept as they came.")
    yield from establish(SettingsAsFound(sentences=tuple(said), **record.values()))
    yield from _gaps(record)
    yield from _plausibility(findings, earlier)
    plan = restorable_lines(snapshot)
    heading = _heading(record, sheet)
    stem = f"{sheet.tag}-settings-{sheet.day}"
    text = readable_file(snapshot, record.lines, heading, sections=sections, findings=findings)
    readable = yield from keep(f"{stem}.txt", text, "settings as found, to be read by a person")
    plain = yield from keep(f"{stem}.gcode", plain_file(plan, heading), "restorable settings as plain lines")
    send, ask_first, never = (len(plan.of(which)) for which in (Decision.SEND, Decision.ASK, Decision.REFUSE))
    to_send = f"To send with any sender: {plain} ({send} lines; {ask_first} more behind a semicolon want a look first)."
    if not send + ask_first:
        to_send = f"Nothing of it can be sent back as it stands: {plain} says why."
    yield from establish(
        SettingsFiles(
            sentences=(f"To read: {readable}", to_send),
            readable=readable,
            plain=plain,
            restorable=send,
            to_review=ask_first,
            never=never,
        )
    )


def earlier_record() -> Steps[SettingsRecord | None]:
    """The newest record of the printer's earlier runs, if the book has one that can be read."""
    found = yield from recall(SettingsAsFound, earlier=True)
    if found is None:
        return None
    try:
        return SettingsRecord.on_record(found)
    except NoReport as unreadable:
        yield Tell((f"The settings record of an earlier run cannot be used: {unreadable}",))
        return None


def proven(record: SettingsRecord) -> Steps[SettingsRecord | None]:
    """Read the record back from the book and hold it against what was read from the printer.

    Returns:
        The record as the book holds it, with its gaps; None where it is not what the printer reported.
    """
    found = yield from recall(SettingsAsFound)
    try:
        back = None if found is None else SettingsRecord.on_record(found)
    except NoReport:
        back = None
    held = back is not None and back.complete and back.same_report(record)
    said = "The backup is proven: read back from the book, complete, its end was seen."
    if not held:
        said = "The backup is not proven: what the book holds is not what the printer reported."
    elif not record.gaps.whole:
        said = "The backup is not proven: the book holds what came, and that is not whole."
    proof = BackupProven(sentences=(said,), proven=held and record.gaps.whole, digest=record.snapshot.digest)
    yield from establish(proof)
    return back if held else None


_DAMAGED = (
    "The settings record is no whole backup: it was cut or damaged on the way.",
    "Take it again before anything is changed. In a console save everything up to the last 'ok' of the report.",
)
_NOT_PRINTED = (
    "The settings record is no whole backup: settings are missing from it that nearly every report has.",
    "Take it again before anything is changed. If the same are missing again this console does not print them: write "
    "them down by hand, from the printer's display or its configuration.",
)
"""What is wrong and its cure: by damage that is seen, and by lines that never came, whichever way they were lost."""


def _gaps(record: SettingsRecord) -> Steps[None]:
    """Name what the record lacks; what it holds is kept all the same."""
    gaps = record.gaps
    if gaps.whole:
        return
    yield from establish(
        SettingsGaps(
            sentences=("This is no whole backup.", *gaps.sentences),
            not_read=gaps.not_read,
            partial=gaps.partial,
            absent=gaps.absent,
            ended=gaps.ended,
        )
    )
    only_absent = gaps.ended and not (gaps.not_read or gaps.partial)
    yield Punch(PunchClass.INCOMPLETE, *(_NOT_PRINTED if only_absent else _DAMAGED))


def _plausibility(findings: Sequence[Finding], earlier: SettingsRecord | None) -> Steps[None]:
    held = f", nor against the record of {earlier.day}" if earlier else ""
    said = tuple(f"Looks wrong: {finding.entry.line.line.strip()}: {finding.sentence}" for finding in findings)
    told = said or (f"No value looks wrong by itself{held}.",)
    yield from establish(SettingsPlausibility(sentences=told, findings=tuple(map(_doubted, findings))))


def _doubted(finding: Finding) -> DoubtedLine:
    return DoubtedLine(
        line=finding.entry.line.line,
        command=finding.entry.command,
        letter=finding.entry.letter,
        value=finding.entry.text,
        kind=finding.suspicion.value,
        range=str(finding.plausible) if finding.plausible else "",
        unit=finding.unit,
        sentence=finding.sentence,
    )


def _counters() -> Steps[dict[str, Sequence[str]]]:
    """Counters of hours and filament cannot be written back: they are kept to be read."""
    exchange = yield from ask(COUNTERS)
    told = [reply for reply in exchange.answer if reply.kind is not ReplyKind.ACKNOWLEDGED]
    lines = [reply.text for reply in told if reply.text.strip()]
    if not lines or any(reply.kind is ReplyKind.UNKNOWN_COMMAND for reply in told):
        yield from establish(Counters(sentences=("The printer reports no counters of hours and filament.",), lines=()))
        return {}
    verbatim = tuple(f"Counters, verbatim: {line}" for line in lines)
    yield from establish(Counters(sentences=verbatim, lines=tuple(lines)))
    return {"Counters, which no reflash keeps": lines}


def _not_kept(read: SettingsRead) -> Steps[None]:
    yield from establish(
        SettingsNotKept(sentences=(read.trouble,), refused=read.refused, reads=read.reads, lines=read.lines)
    )
    yield Punch(
        PunchClass.INCOMPLETE,
        "There is no settings record of this printer.",
        f"Write down what its display shows, or save its settings file; `{BACKUP_OF_A_FILE}` takes a capture.",
    )


def _heading(record: SettingsRecord, sheet: Sheet) -> list[str]:
    units = record.snapshot.units
    return [
        f"Settings as found: {sheet.tag}, {sheet.day}",
        f"Firmware as announced: {record.firmware or 'not known'}",
        f"Source: {record.source}",
        f"Units of the report: {units.length.value}, {units.temperature.sign}",
        f"SHA-256 of the settings: {record.snapshot.digest}",
    ]
