"""Damaged record books and exports given to the command."""

from __future__ import annotations

import base64
import hashlib
import json
import sqlite3
from pathlib import Path

from scripts.campaigns._book import COLUMNS, Row, chain_breaks, rows_of
from scripts.campaigns._damage import Bench, chance_of, damaged_by_chance


def book(bench: Bench, seed: str) -> tuple[int, str]:
    """A damaged record book, looked at: the exit code of verify, and what was wrong; empty for nothing."""
    chance = chance_of(seed)
    whole = bench.book.read_bytes()
    data = chance.choice(
        (
            b"",
            chance.randbytes(chance.choice((1, 15, 16, 100, 5000))),
            whole[: chance.choice((16, 99, 100, 4096, len(whole) // 2))],
            whole[:100] + chance.randbytes(4000),
            b"SQLite format 3\x00" + chance.randbytes(8000),
            damaged_by_chance(whole, chance),
            bench.export,
        )
    )
    place = bench.folder / "fuzzed.sqlite3"
    for each in bench.folder.glob("fuzzed.sqlite3*"):
        if each.is_file():
            each.unlink()
    place.write_bytes(data)
    reads = _reads(data, bench.folder / "judged.sqlite3")
    told = [bench.tool.run(*words, "--book", place.name, folder=bench.folder, seconds=60) for words in _LOOKS]
    why = [f"{words[-1]}: {each.told}" for words, each in zip(_LOOKS, told, strict=True) if each.crashed]
    if told[0].code == 0 and not reads:
        why.append("verify passes what cannot be read")
    if hashlib.sha256(place.read_bytes()).digest() != hashlib.sha256(data).digest():
        why.append("looking at it has changed it")
    return told[0].code, "; ".join(why)


_LOOKS = (("book", "verify"), ("book", "list"), ("report", "bench-3", "--out", "fuzzed-reports"))


def _reads(data: bytes, place: Path) -> bool:
    """Whether this is a database with entries in it."""
    place.write_bytes(data)
    try:
        return bool(rows_of(place))
    except (sqlite3.Error, UnicodeError, OverflowError):
        return False
    finally:
        for each in place.parent.glob(f"{place.name}*"):
            each.unlink()


def export(bench: Bench, seed: str) -> tuple[int, str]:
    """A damaged export, imported into a new book."""
    data = damaged_by_chance(bench.export, chance_of(seed))
    (bench.folder / "fuzzed.jsonl").write_bytes(data)
    into = bench.folder / "imported.sqlite3"
    for each in bench.folder.glob("imported.sqlite3*"):
        if each.is_file():
            each.unlink()
    ended = bench.tool.run("book", "import", "fuzzed.jsonl", "--book", into.name, folder=bench.folder, seconds=60)
    entries = len(rows_of(into)) if into.exists() else 0
    if ended.crashed or ended.code not in (0, 2):
        return ended.code, ended.told
    whole = _whole_entries(data)
    if ended.code == 2:
        return 2, f"refused, and {entries} entries are in the book" if entries else ""
    return 0, "" if whole == entries else f"{entries} entries accepted, of which {whole} make a chain"


def _whole_entries(data: bytes) -> int:
    """How many entries the export has, if they are a chain that ends as its last line says; else -1."""
    try:
        _, *lines, end = [json.loads(line) for line in data.split(b"\n") if line.strip()]
        rows = [_row_of(line) for line in lines]
        broken = chain_breaks(rows) or end != {"entries": len(rows), "head": rows[-1][8]}
    except (ValueError, KeyError, TypeError, IndexError, RecursionError):
        return -1
    return -1 if broken else len(rows)


def _row_of(line: dict[str, object]) -> Row:
    raw = None if line["raw"] is None else base64.b64decode(str(line["raw"]))
    return tuple(raw if column == "raw" else line[column] for column in COLUMNS)
