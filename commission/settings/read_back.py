"""Whether a line that was sent is what the printer reports afterwards: compared as numbers, not as text."""

from dataclasses import replace

from commission.settings.entries import entries_of
from commission.settings.entry import selectors_of
from commission.settings.printed import agree
from commission.settings.restore_line import RestoreLine
from commission.settings.snapshot import Snapshot
from commission.settings.table import SettingsTable
from commission.settings.table_reader import standard_table


def not_taken(sent: RestoreLine, now: Snapshot, table: SettingsTable | None = None) -> tuple[str, ...]:
    """What the printer did not take of a line, one sentence each; nothing when it reports every value as sent.

    A value that is not reported at all was not proven, and is told like one that differs.

    Args:
        sent: the line that was sent.
        now: the report read after it.
        table: what the commands mean; the standard one when left out.
    """
    of_the_command = tuple(line for line in now.lines if line.command == sent.meaning.command)
    reported = {
        entry.letter: entry
        for entry in entries_of(replace(now, lines=of_the_command), table or standard_table()).values()
        if entry.letter == entry.written
        and selectors_of(entry.line) == sent.selectors
        and entry.line.flags == sent.flags
    }
    complaints = []
    for letter, number in sent.numbers.items():
        entry = reported.get(letter)
        if entry is None or entry.number is None:
            complaints.append(f"{sent.text}: the printer does not report {letter} after it.")
        elif not agree(entry.number, number):
            complaints.append(f"{sent.text}: the printer reports {letter}{entry.number.text} after it.")
    return tuple(complaints)
