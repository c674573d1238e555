"""A book altered by SQL: a value, an entry, its line in the table beside it, its tail, or its whole chain."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from random import Random

from scripts.campaigns._alteration import BY_DIGEST, BY_SQL, Alteration
from scripts.campaigns._book import COLUMNS, Row, digest_of

LISTED = ("run_started", "run_ended", "finding", "punch")
"""Kinds of entries that have a line in the table beside them."""
PACKED = 400
"""An entry with a longer text surely lies packed."""


def by_sql(rows: list[Row], chance: Random) -> Iterator[Alteration]:
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
