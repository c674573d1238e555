"""What earlier runs of a printer left open: the entries that tell what was sent and what was made safe again."""

from collections.abc import Mapping
from typing import Any

from commission.records.book import Book
from commission.records.history import entries_of_kinds, runs

_KINDS = ("intent", "result", "moves_began", "hold_released", "made_safe")


def accounts(book: Book, tag: str) -> list[tuple[str, Mapping[str, Any]]]:
    """Kind and facts of those entries, in the order of the book, over all runs of the printer.

    However many runs have come between: one that met another printer, or none, has closed no account.
    """
    numbers = {run.number for run in runs(book, tag)}
    return [(entry.kind, entry.facts) for entry in entries_of_kinds(book, _KINDS) if entry.run in numbers]
