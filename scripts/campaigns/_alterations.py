"""The ways in which a record book is altered: each by name, on a copy of it, the same for the same seed."""

from __future__ import annotations

from itertools import islice
from pathlib import Path
from random import Random

from scripts.campaigns._alteration import Alteration
from scripts.campaigns._altered_by_sql import by_sql as ways_by_sql
from scripts.campaigns._altered_in_file import in_file as ways_in_file
from scripts.campaigns._altered_in_schema import in_schema
from scripts.campaigns._book import rows_of


def alterations(book: Path, seed: int, by_sql: int, in_file: int) -> list[Alteration]:
    """So many by SQL and in the file, and every forgery of the schema.

    Args:
        book: the sound one; it is only read.
        seed: where chance begins.
        by_sql: how many by SQL.
        in_file: how many in the file.
    """
    rows = rows_of(book)
    chance = Random(f"tamper/{seed}")  # noqa: S311 - repeatable on purpose
    found = list(islice(ways_by_sql(rows, chance), by_sql))
    found += list(islice(ways_in_file(book.stat().st_size, chance), in_file))
    return [*found, *in_schema(rows)]
