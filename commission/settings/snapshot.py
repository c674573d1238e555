"""The settings of one printer at one moment, as one report gave them."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from commission.dialect.settings_lines import SettingsLine
from commission.dialect.understanding import understand
from commission.settings.table import SettingsTable
from commission.settings.table_reader import standard_table
from commission.settings.unit_mode import UnitMode, unit_mode


class NoSettings(ValueError):
    """A capture holds no settings report; the text says what to do."""


@dataclass(frozen=True)
class Snapshot:
    """One settings report.

    Attributes:
        lines: its settings lines in the order they were printed.
        units: the units it is written in.
        kept: everything else that came with it and is not understood, verbatim.
        notices: what a reader should know of how it was taken, one sentence each.
    """

    lines: tuple[SettingsLine, ...]
    units: UnitMode
    kept: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()

    @property
    def digest(self) -> str:
        """SHA-256 over the settings as parsed: equal for two reports that print the same words and digits.

        Headings, comments and blanks do not count, so it tells a change of state from a change of chatter.
        """
        return hashlib.sha256("\n".join(map(words_of, self.lines)).encode()).hexdigest()


def words_of(line: SettingsLine) -> str:
    """The words of a line from its command on, single-spaced, without comment: as an unknown command is compared."""
    start = line.line.find(line.command)
    return " ".join(line.line[max(start, 0) :].split(";")[0].split())


def snapshot_of(
    lines: Sequence[SettingsLine], *, kept: Sequence[str] = (), table: SettingsTable | None = None
) -> Snapshot:
    """The settings in these lines.

    A capture may hold several reports one after the other; the last is taken, and a notice says so.

    Args:
        lines: settings lines in the order they came.
        kept: what else came and is not understood.
        table: what the commands mean; the standard one when left out.
    """
    reports = separate_reports(lines)
    last = reports[-1] if reports else ()
    units = unit_mode(last, (table or standard_table()).report_units)
    notices = []
    if len(reports) > 1:
        notices.append(f"{len(reports)} settings reports stand in it; the last is taken.")
    if len(reports) > 1 and len(last) < max(map(len, reports)):
        notices.append("The last of them has fewer lines than one before it: it may be cut short.")
    if units.unclear:
        notices.append(f"Its units are not clear: {units.unclear}. Nothing of it can be put back.")
    return Snapshot(tuple(last), units, tuple(kept), tuple(notices))


def snapshot_of_capture(data: bytes, *, table: SettingsTable | None = None) -> Snapshot:
    """The settings in a saved console capture.

    Raises:
        NoSettings: no settings line stands in it.
    """
    understood = understand(data)
    if not understood.settings:
        raise NoSettings(
            "no settings line was found in it. Save the printer's answer to its settings report and give that file."
        )
    return snapshot_of(understood.settings, kept=understood.unrecognised, table=table)


def separate_reports(lines: Sequence[SettingsLine]) -> list[tuple[SettingsLine, ...]]:
    """The reports that follow one another in these lines.

    A report begins where the first line of the first one comes again after other commands. Lines of one command that
    follow one another directly are no new beginning: many commands take several lines.
    """
    reports: list[list[SettingsLine]] = []
    for previous, line in zip((None, *lines), lines, strict=False):
        begins = previous is None or (line.key == lines[0].key and previous.command != line.command)
        if begins:
            reports.append([])
        reports[-1].append(line)
    return [tuple(report) for report in reports]
