"""Sends the released lines one by one, reads each back, and stops at the first that is not proven.

Whatever stops it, the operator is told which lines are in the printer and which are not.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from commission.asking.message import Punch
from commission.asking.request import Ask
from commission.asking.response import Interrupted, InterruptionKind
from commission.asking.steps import Steps, checked, establish
from commission.command_lines import RESTORE as RESTORE_LINE
from commission.dialect import commands
from commission.dialect.commands import Command
from commission.dialect.replies import ReplyKind
from commission.evidence.findings.settings import RestoreStopped
from commission.procedure.settings.reading import read_once
from commission.procedure.settings.restore_batch import Batch
from commission.session import Exchange
from commission.settings.read_back import not_taken
from commission.settings.restore_line import RestoreLine
from commission.settings.snapshot import Snapshot
from commission.vocabulary import PunchClass

GO_ON = f"Run `{RESTORE_LINE}` again: it reads the settings anew and plans only what still differs."
READ_BACKS = 2
"""A value that is read back wrong is read once more before it counts: the line may have spoilt the report."""
RESTARTS = (InterruptionKind.BOARD_RESTARTED, InterruptionKind.LINK_LOST, InterruptionKind.HALTED)


@dataclass
class RestoreProgress:
    """Where a restore is.

    Attributes:
        proven: lines sent and read back.
        doubtful: lines sent and not proven.
        open: lines not sent.
        trouble: why it stopped; empty while all is well.
        declined: what might have been sent and was not released.
    """

    open: list[RestoreLine]
    proven: list[RestoreLine] = field(default_factory=list)
    doubtful: list[RestoreLine] = field(default_factory=list)
    trouble: str = ""
    declined: tuple[str, ...] = ()

    @classmethod
    def of(cls, released: Sequence[Batch]) -> "RestoreProgress":
        """Nothing is sent yet."""
        return cls([line for batch in released for line in batch.lines])

    def sent(self, line: RestoreLine) -> None:
        """This line is on its way."""
        self.open.remove(line)
        self.doubtful.append(line)

    def read_back(self, line: RestoreLine) -> None:
        """This line is in the printer's working memory."""
        self.doubtful.remove(line)
        self.proven.append(line)


def send(released: Sequence[Batch], report: Command) -> Steps[RestoreProgress]:
    """Send what was released, in order.

    Args:
        released: what to send.
        report: the question by which each is read back.

    Raises:
        Interrupted: something broke in; the operator has been told where things stand.
    """
    progress = RestoreProgress.of(released)
    try:
        for batch in released:
            yield from _send_batch(batch, report, progress)
            if progress.trouble:
                break
    except Interrupted as broken:
        progress.trouble = f"{broken.interruption.kind.value}: {broken.interruption.detail}".rstrip(": ")
        yield from _stopped(progress, lost=broken.interruption.kind in RESTARTS)
        raise
    if progress.trouble:
        yield from _stopped(progress, lost=False)
    return progress


def _send_batch(batch: Batch, report: Command, progress: RestoreProgress) -> Steps[None]:
    for line in batch.lines:
        progress.sent(line)
        refusal = yield from _send_line(line, batch.key)
        if refusal:
            progress.trouble = f"{line.text}: the printer answered {refusal!r}."
            return
    complaints: tuple[str, ...] = ()
    for _ in range(READ_BACKS):
        read = yield from read_once(report)
        complaints = _complaints(batch, read.snapshot)
        if not complaints:
            break
    untaken = [line for line in batch.lines if any(said.startswith(f"{line.text}: ") for said in complaints)]
    for line in batch.lines:
        if line not in untaken:
            progress.read_back(line)
    progress.trouble = complaints[0] if complaints else ""


def _complaints(batch: Batch, snapshot: Snapshot | None) -> tuple[str, ...]:
    if snapshot is None:
        return tuple(f"{line.text}: the settings could not be read back after it." for line in batch.lines)
    return tuple(said for line in batch.lines for said in not_taken(line, snapshot))


def _send_line(line: RestoreLine, key: str) -> Steps[str]:
    """Send one line once; returns what the printer said against it.

    A lost acknowledgement is no reason to send it again or to give up: what is read back decides.
    """
    request = Ask(commands.restore(line.text), release=key)
    try:
        exchange = checked((yield request), Exchange, request)
    except Interrupted as broken:
        if broken.interruption.kind in (InterruptionKind.NO_ANSWER, InterruptionKind.NO_END):
            return ""
        raise
    against = (ReplyKind.UNKNOWN_COMMAND, ReplyKind.ERROR)
    return next((reply.text for reply in exchange.answer if reply.kind in against), "")


def _stopped(progress: RestoreProgress, *, lost: bool) -> Steps[None]:
    """Say where things stand."""
    proven, doubtful, still = (
        tuple(line.text for line in lines) for lines in (progress.proven, progress.doubtful, progress.open)
    )
    said = [f"The restore has stopped. {progress.trouble}"]
    if lost:
        said.append(
            "Nothing of it was saved yet: if the printer has restarted, its working values are the stored ones again "
            "and none of these lines is in."
        )
    said.append(f"In and read back: {', '.join(proven) or 'none'}.")
    said.append(f"Sent and not proven: {', '.join(doubtful) or 'none'}.")
    said.append(f"Not sent: {', '.join(still) or 'none'}.")
    said.append(GO_ON)
    yield from establish(
        RestoreStopped(
            sentences=tuple(said),
            why=progress.trouble,
            proven=proven,
            doubtful=doubtful,
            not_sent=still,
            lost=lost,
        )
    )
    yield Punch(PunchClass.INCOMPLETE, "The settings are not put back completely.", GO_ON)
