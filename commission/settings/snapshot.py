"""The settings of one printer at one moment, as one report gave them."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from commission.dialect.settings_lines import SettingsLine
from commission.dialect.understanding import understand
from commission.settings.table import SettingsTable
from commission.settings.table_reader import standard_table
from commission.settings.unit_mode import UnitMode, unit_mode

MOST_LINES = 5000
"""A finely meshed bed prints some 2500 lines, everything else some 100; beyond this a capture is no settings report."""


class NoReport(ValueError):
    """A capture holds no settings report; the text says what to do."""


@dataclass(frozen=True)
class Snapshot:
    """One settings report.

    Attributes:
        lines: its settings lines in the order they were printed.
        units: the units it is written in.
        kept: everything else that came with it and is not understood, verbatim.
        notices: what a reader should know of how it was taken, one sentence each.
        partial: lines that came again further down but cut short, and so replaced nothing, verbatim.
        lost: commands of a longer report before it that are not in it.
    """

    lines: tuple[SettingsLine, ...]
    units: UnitMode
    kept: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()
    partial: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()

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

    Raises:
        NoReport: there are more lines than any printer prints.
    """
    reports = separate_reports(lines)
    longest = max(map(len, reports), default=0)
    if longest > MOST_LINES:
        raise NoReport(
            f"{longest} settings lines in a row are more than any printer prints: give the capture of one report."
        )
    last = reports[-1] if reports else ()
    whole, partial = without_partial(last)
    taken = newest(whole)
    had = (line.command for report in reports if len(report) > len(last) for line in report)
    lost = tuple(dict.fromkeys(command for command in had if all(command != line.command for line in last)))
    units = unit_mode(taken, (table or standard_table()).report_units)
    remarks = (
        (len(reports) > 1, f"{len(reports)} settings reports stand in it; the last is taken."),
        (len(last) < longest, "The last of them has fewer lines than one before it: it may be cut short."),
        (len(taken) < len(whole), "Some settings are printed again further down; the later ones are taken."),
        (bool(partial), "Some settings are printed again further down and cut short; the whole ones before are taken."),
        (bool(units.unclear), f"Its units are not clear: {units.unclear}. Nothing of it can be put back."),
    )
    notices = tuple(remark for applies, remark in remarks if applies)
    return Snapshot(taken, units, tuple(kept), notices, tuple(line.line for line in partial), lost)


def snapshot_of_capture(data: bytes, *, table: SettingsTable | None = None) -> Snapshot:
    """The settings in a saved console capture.

    Raises:
        NoReport: no settings line stands in it, or more than any printer prints.
    """
    understood = understand(data)
    if not understood.settings:
        raise NoReport(
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


def newest(lines: Sequence[SettingsLine]) -> tuple[SettingsLine, ...]:
    """The lines without those that are printed again further down, as by asking for one setting after the report.

    Lines of one command that follow one another directly are no repetition, even when they are alike.
    """
    runs = [list(run) for _, run in groupby(lines, key=lambda line: line.command)]
    kept: list[list[SettingsLine]] = []
    later: set[tuple[object, ...]] = set()
    for run in reversed(runs):
        kept.append([line for line in run if line.key not in later])
        later.update(line.key for line in run)
    return tuple(line for run in reversed(kept) for line in run)


def without_partial(
    lines: Sequence[SettingsLine],
) -> tuple[tuple[SettingsLine, ...], tuple[SettingsLine, ...]]:
    """The lines without those that say less than one of the same setting before them, and those lines.

    A line that is printed again says all that it said before, unless it was cut or damaged on the way. Lines of one
    command that follow one another directly are settings of their own.
    """
    whole: list[SettingsLine] = []
    partial: list[SettingsLine] = []
    before: dict[str, list[SettingsLine]] = {}
    for command, run in groupby(lines, key=lambda line: line.command):
        earlier = before.setdefault(command, [])
        for line in (group := list(run)):
            (partial if any(_says_less(line, other) for other in earlier) else whole).append(line)
        earlier += group
    return tuple(whole), tuple(partial)


def _says_less(line: SettingsLine, before: SettingsLine) -> bool:
    """Whether the line is the one before it with something missing at its end or in it."""
    cut = words_of(before).startswith(words_of(line)) and words_of(before) != words_of(line)
    fewer = line.key == before.key and (set(line.values) < set(before.values) or bool(line.unread_words))
    return cut or (fewer and not before.unread_words)
