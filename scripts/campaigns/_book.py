"""The record book read past the tool: with sqlite3, zlib and hashlib alone, so that it can judge what the tool says.

What is large lies packed in the file, and digests lie there as bytes: here every entry is as it was written.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
import zlib
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

COLUMNS = ("sequence", "run", "kind", "at", "elapsed_us", "payload", "raw", "previous", "digest")
WORDS = Path(__file__).parents[2] / "commission" / "records" / "words-1.txt"
"""Part of the format: what payloads are packed with."""
Row = tuple[object, ...]


def rows_of(book: Path, *, where: str = "", order: str = "sequence") -> list[Row]:
    """All entries, each with its columns in order, read without any index.

    Raises:
        sqlite3.Error: it cannot be read.
    """
    with closing(sqlite3.connect(f"file:{book}?mode=ro", uri=True, timeout=30)) as connection:
        text = f"SELECT {', '.join(COLUMNS)} FROM entries NOT INDEXED {where} ORDER BY {order}"  # noqa: S608 - ours
        return [as_written(row) for row in connection.execute(text)]


def as_written(row: Sequence[object]) -> Row:
    """The columns of an entry as they were written; what cannot be unpacked is left as it lies there."""
    sequence, run, kind, at, elapsed_us, payload, raw, previous, digest = row
    if isinstance(payload, bytes):
        try:
            text = _whole(payload, WORDS.read_bytes()).decode("utf-8")
            payload, raw = text, _whole(raw) if isinstance(raw, bytes) else raw
        except (zlib.error, ValueError):
            pass
    digests = (each.hex() if isinstance(each, bytes) and len(each) == 32 else each for each in (previous, digest))
    return (sequence, run, kind, at, elapsed_us, payload, raw, *digests)


def _whole(data: bytes, words: bytes = b"") -> bytes:
    machine = zlib.decompressobj(zdict=words)
    found = machine.decompress(data)
    if not machine.eof or machine.unused_data:
        raise ValueError("cut, or something stands behind it")
    return found


def digest_of(row: Sequence[object]) -> str:
    """The digest an entry must have: SHA-256 over the JSON of its other columns, raw bytes in hexadecimal."""
    raw = row[6]
    fields = [*row[:6], raw.hex() if isinstance(raw, bytes) else raw, row[7]]
    return hashlib.sha256(json.dumps(fields, separators=(",", ":"), sort_keys=True).encode()).hexdigest()


def chain_breaks(rows: Sequence[Row]) -> list[object]:
    """The sequence numbers at which the chain does not hold; none of a whole book."""
    broken: list[object] = []
    before = "0" * 64
    for number, row in enumerate(rows, 1):
        if row[0] != number or row[7] != before or row[8] != digest_of(row):
            broken.append(row[0])
        before = str(row[8])
    return broken


def seen_of(book: Path) -> object:
    """All that can be seen of a book: equal for two files in which nothing that can be read differs.

    A file that cannot be read is seen as the text of its trouble, which is never equal to a sound one.
    """
    try:
        with closing(sqlite3.connect(f"file:{book}?mode=ro", uri=True)) as connection:
            return _seen(connection)
    except (sqlite3.Error, OverflowError, UnicodeError) as trouble:
        return f"{type(trouble).__name__}: {trouble}"


def _marked(data: bytes) -> str:
    """A text, whatever bytes it is made of, and never equal to the same bytes kept as bytes."""
    return data.decode("utf-8", "surrogateescape")


def _seen(connection: sqlite3.Connection) -> tuple[object, ...]:
    connection.text_factory = _marked
    names = ", ".join(COLUMNS)
    through: list[object] = [
        [as_written(row) for row in connection.execute(f"SELECT {names} FROM entries {how} ORDER BY sequence")]  # noqa: S608 - ours
        for how in ("NOT INDEXED", "")
    ]
    tables = {name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    if "facts" in tables:
        through.append(connection.execute("SELECT * FROM facts NOT INDEXED ORDER BY sequence").fetchall())
    for column in ("run", "kind"):
        values = connection.execute(f"SELECT DISTINCT {column} FROM entries NOT INDEXED").fetchall()  # noqa: S608
        for value in sorted(values, key=repr):
            text = f"SELECT sequence FROM entries WHERE {column} = ? ORDER BY sequence"  # noqa: S608 - ours
            through.append((value, connection.execute(text, value).fetchall()))
    schema = sorted(connection.execute("SELECT type, name, tbl_name, coalesce(sql, '') FROM sqlite_master").fetchall())
    pragmas = [connection.execute(f"PRAGMA {each}").fetchall() for each in ("application_id", "user_version")]
    whole = connection.execute("PRAGMA integrity_check").fetchall()
    return (through, schema, pragmas, whole)


def told_in(payload: str) -> dict[str, object]:
    """What an entry tells, in whichever form it was written."""
    whole = json.loads(payload)
    told: dict[str, object] = whole.get("entry", whole)
    return told
