"""The leftover distance in two settings reports: it is set afresh, never put back, and a change of it is told."""

from commission.settings.entries import entries_of
from commission.settings.plan_items import LetterChange
from commission.settings.printed import agree
from commission.settings.snapshot import Snapshot
from commission.settings.table_reader import standard_table

LEFTOVER = "leftover distance"
"""What the table of commands calls it."""


def changed_leftover(as_found: Snapshot, current: Snapshot) -> LetterChange | None:
    """The leftover distance where both reports print it and the values differ; else None."""
    table = standard_table()
    before, now = entries_of(as_found, table), entries_of(current, table)
    for key, entry in before.items():
        later = now.get(key)
        if entry.meaning is None or entry.meaning.of != LEFTOVER or later is None:
            continue
        if entry.base is not None and later.base is not None and not agree(entry.base, later.base):
            return LetterChange(entry.letter, entry.text, later.text)
    return None
