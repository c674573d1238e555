"""The ways in which a record book is altered: each by name, on a copy of it, the same for the same seed."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from random import Random

from scripts.campaigns._book import COLUMNS, Row, digest_of, rows_of

BY_SQL, IN_FILE, IN_SCHEMA, BY_DIGEST = "by SQL", "in the file", "in the schema", "cut or worked out anew"
PAGE = 4096
LISTED = ("run_started", "run_ended", "finding", "punch")
"""Kinds of entries that have a line in the table beside them."""
PACKED = 400
"""An entry with a longer text surely lies packed."""


@dataclass(frozen=True)
class Alteration:
    """One way.

    Attributes:
        name: what is done, and where.
        group: by what means.
        alter: does it to the file.
        head: digest of the newest entry before it, where only that can tell; else empty.
    """

    name: str
    group: str
    alter: Callable[[Path], None]
    head: str = ""

    @property
    def needs_digest(self) -> bool:
        """Whether the book alone cannot show it."""
        return bool(self.head)


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
    found = list(islice(_by_sql(rows, chance), by_sql))
    found += list(islice(_in_file(book.stat().st_size, chance), in_file))
    return [*found, *_in_schema(rows)]


def _open(book: Path, *statements: tuple[str, tuple[object, ...]] | str) -> None:
    """Carry the statements out with the triggers out of the way, and put these back as they were."""
    with closing(sqlite3.connect(book, isolation_level=None)) as connection:
        triggers = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            text, values = (statement, ()) if isinstance(statement, str) else statement
            connection.execute(text, values)
        for _, text in triggers:
            connection.execute(text)


def _set(column: str, value: object, sequence: object) -> Callable[[Path], None]:
    text = f"UPDATE entries SET {column} = ? WHERE sequence = ?"  # noqa: S608 - the columns are ours
    return lambda book: _open(book, (text, (value, sequence)))


def _by_sql(rows: list[Row], chance: Random) -> Iterator[Alteration]:
    """Without end: one alteration of each kind in turn, so that any number of them has every kind in it."""
    turn = 0
    while True:
        for column, (manner, value_of) in [(c, m) for c in COLUMNS[1:] for m in _VALUES.items()]:
            row = chance.choice(rows)
            value = value_of(row[COLUMNS.index(column)], chance)
            name = f"sql {turn}: {column} of entry {row[0]} {manner}"
            yield Alteration(name, BY_SQL, _set(column, value, row[0]))
        for kind in (_moved, _removed, _doubled, _swapped, _cut, _anew, _listed, _not_listed, _damaged):
            yield kind(rows, chance, turn)
        turn += 1


def _changed(value: object, chance: Random) -> object:
    if isinstance(value, int):
        return value + chance.choice((-1, 1, 1000))
    if isinstance(value, bytes):
        return _flipped(value, chance) if value else b"\x00"
    text = str(value or "none")
    place = chance.randrange(len(text))
    return text[:place] + chr((ord(text[place]) + 1 - 32) % 94 + 32) + text[place + 1 :]


def _flipped(data: bytes, chance: Random) -> bytes:
    place = chance.randrange(len(data))
    return data[:place] + bytes([data[place] ^ (1 << chance.randrange(8))]) + data[place + 1 :]


_VALUES: dict[str, Callable[[object, Random], object]] = {
    "changed": _changed,
    "made empty": lambda _value, _chance: "",
    "made bytes": lambda value, _chance: b"\xff\xfe" + str(value).encode(),
    "made a broken number": lambda _value, chance: chance.choice((1.5, -1, 2**62, float("inf"))),
    "made longer": lambda value, _chance: f"{value} ",
    "made odd text": lambda _value, chance: chance.choice(("\x00", "\u202e", "null", "[1]", "{", '{"tag":NaN}')),
}


def _moved(rows: list[Row], chance: Random, turn: int) -> Alteration:
    row = chance.choice(rows)
    to = len(rows) + chance.choice((1, 2, 1000))
    return Alteration(f"sql {turn}: entry {row[0]} moved to {to}", BY_SQL, _set("sequence", to, row[0]))


def _removed(rows: list[Row], chance: Random, turn: int) -> Alteration:
    first = chance.randint(1, len(rows) - 5)
    last = min(len(rows) - 1, first + chance.choice((0, 0, 3, 20)))
    text = "DELETE FROM entries WHERE sequence BETWEEN ? AND ?"
    name = f"sql {turn}: entries {first} to {last} removed"
    return Alteration(name, BY_SQL, lambda book: _open(book, (text, (first, last))))


def _doubled(rows: list[Row], chance: Random, turn: int) -> Alteration:
    row = chance.choice(rows)
    text = f"INSERT INTO entries ({', '.join(COLUMNS)}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)"  # noqa: S608 - ours
    values = (len(rows) + 1, *row[1:8], digest_of(row)[::-1])
    return Alteration(
        f"sql {turn}: entry {row[0]} doubled at the end", BY_SQL, lambda book: _open(book, (text, values))
    )


def _swapped(rows: list[Row], chance: Random, turn: int) -> Alteration:
    one, other = sorted(chance.sample(range(1, len(rows) + 1), 2))
    steps = [
        ("UPDATE entries SET sequence = ? WHERE sequence = ?", pair) for pair in ((-1, one), (one, other), (other, -1))
    ]
    name = f"sql {turn}: entries {one} and {other} swapped"
    return Alteration(name, BY_SQL, lambda book: _open(book, *steps))


def _listed(rows: list[Row], chance: Random, turn: int) -> Alteration:
    """A line beside the entries says what its entry does not."""
    row = chance.choice([row for row in rows if row[2] in LISTED])
    column, value = chance.choice(
        (("word", "splendid"), ("run", "bench-9/2031-03-14/1"), ("tag", "bench-9"), ("at", "2031-01-01T00:00:00+00:00"))
    )
    text = f"UPDATE facts SET {column} = ? WHERE sequence = ?"  # noqa: S608 - the columns are ours
    name = f"sql {turn}: the line of entry {row[0]} given another {column}"
    return Alteration(name, BY_SQL, lambda book: _open(book, (text, (value, row[0]))))


def _not_listed(rows: list[Row], chance: Random, turn: int) -> Alteration:
    row = chance.choice([row for row in rows if row[2] in LISTED])
    name = f"sql {turn}: the line of entry {row[0]} removed"
    return Alteration(name, BY_SQL, lambda book: _open(book, ("DELETE FROM facts WHERE sequence = ?", (row[0],))))


def _damaged(rows: list[Row], chance: Random, turn: int) -> Alteration:
    """What lies packed is changed by one bit."""
    row = chance.choice([row for row in rows if len(str(row[5])) > PACKED])
    place, bit = chance.random(), 1 << chance.randrange(8)

    def alter(book: Path) -> None:
        with closing(sqlite3.connect(book)) as connection:
            (data,) = connection.execute("SELECT payload FROM entries WHERE sequence = ?", (row[0],)).fetchone()
        packed = bytearray(data if isinstance(data, bytes) else str(data).encode())
        packed[int(place * len(packed))] ^= bit
        _set("payload", bytes(packed), row[0])(book)

    return Alteration(f"sql {turn}: a bit of what is packed in entry {row[0]} changed", BY_SQL, alter)


def _cut(rows: list[Row], chance: Random, turn: int) -> Alteration:
    count = chance.choice((1, 2, 10, len(rows) // 2))
    steps = [(f"DELETE FROM {table} WHERE sequence > ?", (len(rows) - count,)) for table in ("entries", "facts")]  # noqa: S608
    return Alteration(
        f"sql {turn}: the last {count} entries cut off",
        BY_DIGEST,
        lambda book: _open(book, *steps),
        head=str(rows[-1][8]),
    )


def _anew(rows: list[Row], chance: Random, turn: int) -> Alteration:
    """One entry is given another time, and the chain from there on is worked out anew."""
    place = chance.randrange(len(rows))
    forged = [list(row) for row in rows]
    forged[place][3] = _changed("2031-01-01T00:00:00+00:00", chance)
    steps: list[tuple[str, tuple[object, ...]]] = [
        ("UPDATE facts SET at = ? WHERE sequence = ?", (forged[place][3], forged[place][0]))
    ]
    for number in range(place, len(forged)):
        row = forged[number]
        row[7] = forged[number - 1][8] if number else "0" * 64
        row[8] = digest_of(row)
        text = "UPDATE entries SET at = ?, previous = ?, digest = ? WHERE sequence = ?"
        steps.append((text, (row[3], row[7], row[8], row[0])))
    name = f"sql {turn}: the chain from entry {place + 1} worked out anew"
    return Alteration(name, BY_DIGEST, lambda book: _open(book, *steps), head=str(rows[-1][8]))


def _in_file(size: int, chance: Random) -> Iterator[Alteration]:
    pages = size // PAGE

    def data_of(book: Path) -> bytearray:
        return bytearray(book.read_bytes())

    def flip(place: int, mask: int) -> Callable[[Path], None]:
        def alter(book: Path) -> None:
            data = data_of(book)
            data[place] ^= mask
            book.write_bytes(data)

        return alter

    def copy(source: int, target: int, *, both: bool) -> Callable[[Path], None]:
        def alter(book: Path) -> None:
            data = data_of(book)
            one = slice(source * PAGE, (source + 1) * PAGE)
            other = slice(target * PAGE, (target + 1) * PAGE)
            first, second = bytes(data[one]), bytes(data[other])
            data[other] = first
            data[one] = second if both else first
            book.write_bytes(data)

        return alter

    number = 0
    while True:
        for mask in (1, 0x80, 0xFF, 0x20, 0x10):
            number += 1
            place = chance.randrange(100 if number % 25 == 0 else size)
            yield Alteration(f"file {number}: byte {place} changed by {mask:#04x}", IN_FILE, flip(place, mask))
        one, other = chance.sample(range(pages), 2)
        yield Alteration(f"file {number}: pages {one} and {other} swapped", IN_FILE, copy(one, other, both=True))
        one, other = chance.sample(range(1, pages), 2)
        yield Alteration(f"file {number}: page {one} copied over {other}", IN_FILE, copy(one, other, both=False))
        length = chance.choice((chance.randrange(size), chance.randrange(pages) * PAGE))
        yield Alteration(
            f"file {number}: cut to {length} bytes",
            IN_FILE,
            lambda book, length=length: _write(book, book.read_bytes()[:length]),  # type: ignore[misc]
        )


def _write(book: Path, data: bytes) -> None:
    book.write_bytes(data)


def _in_schema(rows: list[Row]) -> Iterator[Alteration]:
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
