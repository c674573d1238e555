"""What an earlier run of a printer left open: the entries that tell what was sent and what was made safe again."""

from collections.abc import Mapping
from typing import Any

from commission.records.book import Book
from commission.records.history import runs

_KINDS = frozenset({"intent", "result", "moves_began", "made_safe"})
RUNS_LOOKED_AT = 3
"""A run that found nothing to make safe ended the account, so older ones do not matter."""


def accounts(book: Book, tag: str) -> list[tuple[str, Mapping[str, Any]]]:
    """Kind and facts of those entries, in order, over the printer's newest runs."""
    newest = sorted(runs(book, tag), key=lambda run: run.started_at)[-RUNS_LOOKED_AT:]
    return [(entry.kind, entry.facts) for run in newest for entry in book.entries(run.number) if entry.kind in _KINDS]
