"""The tables of a book: its entries, and beside them what some of them say; see `packing` and `facts`."""

from collections.abc import Callable, Mapping

from sqlalchemy import Column, Connection, Index, Integer, LargeBinary, MetaData, Table, Text, text

SCHEMA_VERSION = 3
"""3: each chain belongs to a bench, and there may be several; 2: what is large is packed, `facts` is there; 1: neither.

The tables of 3 are those of 2; a book comes to 3 when something is written into it.
"""
OWNED, PACKED = 3, 2

_format_1, _format_2, _beside = MetaData(), MetaData(), MetaData()


def _entries(metadata: MetaData, *, first_format: bool) -> Table:
    """The table of entries; the first format had an index on the digests, and one on every kind, which none needs.

    Of each kind that is asked for over all runs, `facts` has the lines; notes belong to no run.
    """
    table = Table(
        "entries",
        metadata,
        Column("sequence", Integer, primary_key=True),
        Column("run", Text, nullable=False),
        Column("kind", Text, nullable=False),
        Column("at", Text, nullable=False),
        Column("elapsed_us", Integer, nullable=False),
        Column("payload", Text, nullable=False),
        Column("raw", LargeBinary),
        Column("previous", Text, nullable=False),
        Column("digest", Text, nullable=False, unique=first_format),
    )
    Index("entries_by_run", table.c.run, table.c.sequence)
    notes = None if first_format else text("kind = 'note'")
    Index("entries_by_kind", table.c.kind, table.c.sequence, sqlite_where=notes)
    return table


_entries(_format_1, first_format=True)
entries = _entries(_format_2, first_format=False)

IS_MARK = "kind IN ('run_started', 'run_resumed', 'run_ended')"
facts = Table(
    "facts",
    _beside,
    Column("sequence", Integer, primary_key=True),
    Column("run", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("tag", Text),
    Column("word", Text),
    Column("verdict", Text),
)
Index("facts_by_mark", *facts.c["run", "sequence", "kind", "at", "tag", "word", "verdict"], sqlite_where=text(IS_MARK))
Index("facts_by_printer", facts.c.tag, facts.c.run, sqlite_where=text("kind = 'run_started'"))
Index("facts_by_word", *facts.c["kind", "word", "run", "sequence"])


def _append_only(table: str) -> Mapping[str, str]:
    return {
        f"{table}_no_{verb.lower()}": f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
        "BEGIN SELECT RAISE(ABORT, 'the record book is append-only'); END"
        for verb in ("UPDATE", "DELETE")
    }


def create_tables(connection: Connection, number: int, version: int = SCHEMA_VERSION) -> None:
    """Tables, indexes and triggers of a book in an empty database.

    Args:
        connection: to the database.
        number: the application's own, by which its files are known.
        version: the format of the book.
    """
    (_format_1 if version == 1 else _format_2).create_all(connection)
    for trigger in _append_only("entries").values():
        connection.execute(text(trigger))
    connection.execute(text(f"PRAGMA application_id = {number}"))
    connection.execute(text("PRAGMA user_version = 1"))
    if version > 1:
        bring_to_format_2(connection, lambda: None)


def bring_to_format_2(connection: Connection, fill: Callable[[], None]) -> None:
    """Add what the second format has; every entry stays as it lies there, and the chain with it.

    Args:
        connection: within a transaction.
        fill: writes the lines of the entries that are there.
    """
    _beside.create_all(connection)
    fill()
    for trigger in _append_only("facts").values():
        connection.execute(text(trigger))
    connection.execute(text(f"PRAGMA user_version = {PACKED}"))


def schema_of(connection: Connection) -> Mapping[str, str]:
    """What there is, as kind and name, with the text that made it; statistics of the database itself left out."""
    rows = connection.exec_driver_sql(
        "SELECT CAST(type AS BLOB), CAST(name AS BLOB), CAST(sql AS BLOB) FROM sqlite_master "
        "WHERE name NOT LIKE 'sqlite_stat%' ORDER BY type, name"
    ).fetchall()
    return {f"{_text(kind)} {_text(name)}": " ".join(_text(sql).split()) for kind, name, sql in rows}


def _text(data: bytes | None) -> str:
    return "" if data is None else data.decode("utf-8", "backslashreplace")
