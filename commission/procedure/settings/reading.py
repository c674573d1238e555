"""Asks for the settings until the same report has come twice in a row."""

from dataclasses import dataclass, replace

from commission.asking.steps import Steps, ask
from commission.dialect.commands import ALT_SETTINGS, SETTINGS, Command
from commission.dialect.replies import ReplyKind
from commission.procedure.settings.record import SettingsRecord, Sheet
from commission.session import End
from commission.settings.snapshot import NoReport, Snapshot

MOST_READS = 6
"""So often a report is asked for until two in a row agree; a line as poor as that is no line to restore over."""
TIMEOUT_S = 10.0


@dataclass(frozen=True)
class SettingsRead:
    """What came of asking for the settings.

    Attributes:
        lines: the last report, verbatim.
        snapshot: the settings in it; None when there are none.
        refused: the printer does not know the command.
        reads: how often it was asked.
        agreed: its end was seen and the last two were the same.
        command: the question that brought it.
    """

    lines: tuple[str, ...]
    snapshot: Snapshot | None
    refused: bool
    reads: int = 1
    agreed: bool = False
    command: Command = SETTINGS

    def record(self, sheet: Sheet, firmware: str) -> SettingsRecord:
        """It as a record of this day.

        Raises:
            NoReport: it holds no settings.
        """
        return SettingsRecord(self.lines, "printer", sheet.day, firmware, self.reads, self.agreed)

    @property
    def trouble(self) -> str:
        """Why it cannot serve as a record, in a sentence; empty when it can."""
        if self.refused:
            return "The printer does not know the command that lists its settings."
        if self.snapshot is None:
            return "The printer's answer holds no settings."
        if not self.agreed:
            return f"The settings were asked for {self.reads} times and never came the same twice in a row."
        return ""


def read_settings() -> Steps[SettingsRead]:
    """Ask until two reports in a row are the same; changes nothing on the printer."""
    read = yield from read_once()
    if read.refused:
        read = yield from read_once(ALT_SETTINGS)
    if read.snapshot is None:
        return read
    for reads in range(2, MOST_READS + 1):
        again = replace((yield from read_once(read.command)), reads=reads)
        if _same(again, read):
            return replace(again, agreed=True)
        read = again
    return read


def read_once(command: Command = SETTINGS) -> Steps[SettingsRead]:
    """One report, good for reading one value back."""
    exchange = yield from ask(command, TIMEOUT_S)
    refused = any(reply.kind is ReplyKind.UNKNOWN_COMMAND for reply in exchange.answer)
    lines = exchange.lines
    ended = exchange.end is End.ACKNOWLEDGED
    try:
        snapshot = SettingsRecord(lines, "printer", "").snapshot if ended and not refused else None
    except NoReport:
        snapshot = None
    return SettingsRead(lines, snapshot, refused, command=command)


def _same(one: SettingsRead, other: SettingsRead) -> bool:
    return one.snapshot is not None and other.snapshot is not None and one.snapshot.digest == other.snapshot.digest
