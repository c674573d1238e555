"""A book whose schema is forged: indexes, triggers and tables that show less than was written, and its two numbers."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

from scripts.campaigns._alteration import IN_SCHEMA, Alteration
from scripts.campaigns._book import Row


def in_schema(rows: list[Row]) -> Iterator[Alteration]:
    by_run = "CREATE INDEX entries_by_run ON entries (run, sequence)"
    by_kind = "CREATE INDEX entries_by_kind ON entries (kind, sequence)"
    by_word = "CREATE INDEX facts_by_word ON facts (kind, word, run, sequence)"
    middle = len(rows) // 2
    forgeries: dict[str, tuple[str, ...]] = {
        "index by run hides one entry": ("DROP INDEX entries_by_run", f"{by_run} WHERE sequence <> {middle}"),
        "index by kind hides one entry": ("DROP INDEX entries_by_kind", f"{by_kind} WHERE sequence <> {middle}"),
        "index by kind hides findings": ("DROP INDEX entries_by_kind", f"{by_kind} WHERE kind <> 'finding'"),
        "index by run on other columns": (
            "DROP INDEX entries_by_run",
            "CREATE INDEX entries_by_run ON entries (at, sequence)",
        ),
        "index of the lines hides one": ("DROP INDEX facts_by_word", f"{by_word} WHERE sequence <> {middle}"),
        "index of the lines dropped": ("DROP INDEX facts_by_mark",),
        "lines dropped": ("DROP TABLE facts",),
        "lines dropped, called an older book": ("DROP TABLE facts", "PRAGMA user_version = 1"),
        "index by run dropped": ("DROP INDEX entries_by_run",),
        "both indexes dropped": ("DROP INDEX entries_by_run", "DROP INDEX entries_by_kind"),
        "an index too many": ("CREATE INDEX another ON entries (at)",),
        "a table too many": ("CREATE TABLE another (text)",),
        "a column too many": ("ALTER TABLE entries ADD COLUMN remark TEXT",),
        "a view in the table's place": (
            "ALTER TABLE entries RENAME TO kept",
            f"CREATE VIEW entries AS SELECT * FROM kept WHERE sequence <> {middle}",  # noqa: S608 - ours
        ),
        "a view of everything in its place": (
            "ALTER TABLE entries RENAME TO kept",
            "CREATE VIEW entries AS SELECT * FROM kept",
        ),
        "a table without constraints": (
            "CREATE TABLE copied AS SELECT * FROM entries ORDER BY sequence",
            "DROP TABLE entries",
            "ALTER TABLE copied RENAME TO entries",
            by_run,
            by_kind,
            *_APPEND_ONLY,
        ),
        "another program's number": ("PRAGMA application_id = 77",),
        "no number": ("PRAGMA application_id = 0",),
        "a newer format": ("PRAGMA user_version = 99",),
        "an older format": ("PRAGMA user_version = 0",),
    }
    for name, statements in forgeries.items():
        text = "; ".join(statements)
        yield Alteration(f"schema: {name}", IN_SCHEMA, lambda book, text=text: _script(book, text))  # type: ignore[misc]
    for name, text in _TRIGGERS.items():
        yield Alteration(f"schema: {name}", IN_SCHEMA, lambda book, text=text: _script(book, text))  # type: ignore[misc]


_APPEND_ONLY = [
    f"CREATE TRIGGER entries_no_{verb.lower()} BEFORE {verb} ON entries "
    "BEGIN SELECT RAISE(ABORT, 'the record book is append-only'); END"
    for verb in ("UPDATE", "DELETE")
]
_TRIGGERS = {
    "trigger against changes dropped": "DROP TRIGGER entries_no_update",
    "trigger against removal dropped": "DROP TRIGGER entries_no_delete",
    "both triggers dropped": "DROP TRIGGER entries_no_update; DROP TRIGGER entries_no_delete",
    "trigger that never fires": "DROP TRIGGER entries_no_update; CREATE TRIGGER entries_no_update BEFORE UPDATE ON "
    "entries WHEN 0 BEGIN SELECT RAISE(ABORT, 'the record book is append-only'); END",
    "trigger too many": "CREATE TRIGGER quiet BEFORE INSERT ON entries WHEN new.kind = 'punch' "
    "BEGIN SELECT RAISE(IGNORE); END",
    "index rewritten in the schema alone": "PRAGMA writable_schema = ON; UPDATE sqlite_master SET sql = sql || "
    "' WHERE sequence <> 9' WHERE name = 'entries_by_run'",
    "index that says less than it holds": "DROP INDEX entries_by_run; CREATE INDEX entries_by_run ON entries (run, "
    "sequence) WHERE sequence <> 9; PRAGMA writable_schema = ON; UPDATE sqlite_master SET sql = 'CREATE INDEX "
    "entries_by_run ON entries (run, sequence)' WHERE name = 'entries_by_run'",
}


def _script(book: Path, text: str) -> None:
    with closing(sqlite3.connect(book, isolation_level=None)) as connection:
        connection.executescript(text)
