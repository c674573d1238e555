"""What a settings report does not tell because it was cut or damaged on the way: with a gap it is no whole backup.

Every line that looks like a setting and is not understood is named, and everything that each report states and this one
does not. What was never printed cannot be missed otherwise: a setting that only some firmware prints, lost whole with
its line, leaves no trace in one report.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.dialect.replies import acknowledgement
from commission.dialect.settings_lines import SettingsLine, SettingsReader, like_a_setting, unglued
from commission.settings.entry import lost_numbers, torn
from commission.settings.snapshot import Snapshot
from commission.settings.table import SettingsTable
from commission.settings.table_reader import standard_table


@dataclass(frozen=True)
class Gaps:
    """What is missing from a report.

    Attributes:
        not_read: lines that look like settings and are not understood, verbatim.
        partial: lines that came again cut short, and so replaced nothing, verbatim.
        absent: what every report states and this one does not, in words, with its command.
        ended: the end of the report was seen.
    """

    not_read: tuple[str, ...] = ()
    partial: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    ended: bool = True

    @property
    def whole(self) -> bool:
        """Whether nothing is missing."""
        return self.ended and not (self.not_read or self.partial or self.absent)

    @property
    def sentences(self) -> tuple[str, ...]:
        """Each gap in words."""
        return (
            *([f"Not on record: {'; '.join(self.absent)}."] if self.absent else []),
            *(f"Not understood, though it looks like a setting: {line.strip()}" for line in self.not_read),
            *(f"Cut short, so the line before it stands: {line.strip()}" for line in self.partial),
            *([] if self.ended else ["The end of the report was not seen: what comes last may be missing."]),
        )


def gaps_of(
    lines: Sequence[str], snapshot: Snapshot, *, ended: bool | None = None, table: SettingsTable | None = None
) -> Gaps:
    """What is missing from the report that stands in these lines.

    Args:
        lines: everything that came, as printable lines.
        snapshot: the settings in them.
        ended: the end was seen when it was asked for; None where only the lines can tell.
        table: what the commands mean; the standard one when left out.
    """
    table = table or standard_table()
    there = {line.command for line in snapshot.lines}
    absent = [f"{what} ({commands[0]})" for what, commands in table.expected.items() if there.isdisjoint(commands)]
    named = {commands[0] for commands in table.expected.values()}
    absent += [f"{command}, which an earlier report in it has" for command in snapshot.lost if command not in named]
    strange = [line.line for line in snapshot.lines if line.unread_words or _strange(line, table)]
    damaged = [text for text in snapshot.kept if like_a_setting(text)]
    ended = _ended(lines) if ended is None else ended
    return Gaps((*strange, *damaged), snapshot.partial, tuple(absent), ended)


def _strange(line: SettingsLine, table: SettingsTable) -> bool:
    """Whether no report lists it so: its command, a letter that lost its number, or one that is missing."""
    meaning = table.commands.get(line.command)
    return _never_listed(line.command, table) or (
        meaning is not None and (bool(lost_numbers(line, meaning)) or torn(line, meaning))
    )


def _never_listed(command: str, table: SettingsTable) -> bool:
    """Whether it is a command that acts, which no report lists: another one was damaged into it."""
    return table.is_never(command) and command not in table.commands and command not in table.report_units


def _ended(lines: Sequence[str]) -> bool:
    """Whether an acknowledgement comes after the last line that reads as a setting."""
    reader, ended = SettingsReader(), False
    for text in (part for line in lines for part in unglued(line)):
        if reader.take(text) in ("setting", "continuation"):
            ended = False
        elif acknowledgement(text) is not None:
            ended = True
    return ended
