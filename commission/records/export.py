"""The book as JSON lines, and back: one line of heading, then one line an entry, nothing lost.

Digests are carried, never made anew: what is imported is the same chain, and a change on the way is found.
"""

import base64
import binascii
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, BinaryIO

from commission.command_lines import EXPORT
from commission.files.kinds import EXPORT_FORMAT
from commission.records.book import Book, BookError
from commission.records.chain import ORIGIN, Row, canonical, check_chain
from commission.records.joining import ForkError

ONE_CHAIN, VERSION = 1, 2
"""1: one chain; 2: several, one behind the other."""
LONGEST_LINE_BYTES = 64 * 1024 * 1024
"""An entry holds at most some seconds of traffic; beyond this a line is no entry."""
_FIELDS = {"sequence": int, "run": str, "kind": str, "at": str, "elapsed_us": int, "payload": str}


class ImportRefused(Exception):
    """What was handed over cannot become part of this book; the text says what to do."""


@dataclass(frozen=True)
class Imported:
    """What an import did.

    Attributes:
        added: entries written.
        present: entries that stood in the book already, the same to the byte.
    """

    added: int
    present: int


def export_lines(chains: Sequence[Sequence[Row]]) -> Iterator[str]:
    """Heading, then of each chain its entries, and a closing line with their number and the newest digest.

    So a cut file is noticed. A book of one chain is written as ever, in the first version.
    """
    several = {"version": VERSION, "chains": len(chains)} if len(chains) > 1 else {"version": ONE_CHAIN}
    yield canonical({"format": EXPORT_FORMAT, **several})
    for rows in chains or [()]:
        for row in rows:
            raw = None if row.raw is None else base64.b64encode(row.raw).decode("ascii")
            yield canonical(row.fields | {"raw": raw})
        yield canonical({"entries": len(rows), "head": rows[-1].digest if rows else ORIGIN})


def read_export(stream: BinaryIO) -> list[list[Row]]:
    """The chains of an export, checked, each with its entries in order; empty ones left out.

    Raises:
        ImportRefused: it is no export, is cut short, or its chain is broken; the text names the line or entry.
    """
    lines = list(_lines(stream))
    if not lines or lines[0].get("format") != EXPORT_FORMAT:
        raise ImportRefused(f"This is no exported record book. Write one with `{EXPORT}`.")
    if lines[0].get("version") not in (ONE_CHAIN, VERSION):
        raise ImportRefused(
            f"The export has version {lines[0].get('version')}, this program reads {VERSION}. Update this program."
        )
    if "head" not in lines[-1] or len(lines) < 2:
        raise ImportRefused("The export ends in the middle: its closing line is missing. Export the book again.")
    chains: list[list[Row]] = []
    begin = 1
    for number, line in enumerate(lines):
        if number and "head" in line:
            rows = [_row(each, begin + count) for count, each in enumerate(lines[begin:number], start=1)]
            chains.append(_checked(rows, line))
            begin = number + 1
    if len(chains) != lines[0].get("chains", 1):
        raise ImportRefused("The export ends in the middle: it lacks a chain. Export the book again.")
    return [rows for rows in chains if rows]


def _checked(rows: list[Row], closing: Mapping[str, Any]) -> list[Row]:
    """The entries of one chain, if they are as the book had them.

    Raises:
        ImportRefused: they are not; the text names the entry.
    """
    faults = check_chain(rows)
    if faults:
        raise ImportRefused(f"The export is not as the book was: {faults[0].what}. Nothing was imported.")
    head = rows[-1].digest if rows else ORIGIN
    if (closing.get("entries"), closing["head"]) != (len(rows), head):
        raise ImportRefused("The export's closing line does not fit its entries: some are missing. Export it again.")
    return rows


def import_entries(book: Book, chains: Sequence[Sequence[Row]]) -> Imported:
    """Add what the book does not hold yet of the chains of an export, all of it or nothing.

    Raises:
        ImportRefused: a chain goes on in two ways.
        BookError: it could not be written; nothing of it was kept.
    """
    try:
        added = book.receive(*chains)
    except ForkError as fork:
        raise ImportRefused(f"{fork} Nothing was imported.") from fork
    return Imported(added=added, present=sum(map(len, chains)) - added)


def _lines(stream: BinaryIO) -> Iterator[dict[str, Any]]:
    number = 0
    while line := stream.readline(LONGEST_LINE_BYTES + 1):
        number += 1
        if len(line) > LONGEST_LINE_BYTES:
            raise ImportRefused(f"Line {number} is longer than any entry: this is no exported record book.")
        try:
            value = json.loads(line)
        except (ValueError, RecursionError) as error:
            raise ImportRefused(f"Line {number} is no JSON: the export is damaged or cut short.") from error
        if not isinstance(value, dict):
            raise ImportRefused(f"Line {number} is no entry: this is no exported record book.")
        yield value


def _row(line: dict[str, Any], number: int) -> Row:
    digests = {"previous": str, "digest": str}
    for name, kind in (_FIELDS | digests).items():
        if type(line.get(name)) is not kind:
            raise ImportRefused(f"Line {number}: {name} is missing or of the wrong type. Export the book again.")
        if kind is str and not _is_text(line[name]):
            raise ImportRefused(f"Line {number}: {name} holds half a character, which no book holds.")
    if set(line) != set(_FIELDS) | set(digests) | {"raw"}:
        raise ImportRefused(f"Line {number} has other fields than an entry. Export the book again.")
    if not -(2**63) <= line["sequence"] < 2**63 or not -(2**63) <= line["elapsed_us"] < 2**63:
        raise ImportRefused(f"Line {number} holds a number that no book holds.")
    try:
        raw = None if line["raw"] is None else base64.b64decode(line["raw"], validate=True)
    except (binascii.Error, ValueError, TypeError) as error:
        raise ImportRefused(f"Line {number}: the raw bytes are no base64. Export the book again.") from error
    return Row(**(line | {"raw": raw}))


def _is_text(text: str) -> bool:
    """Whether it is made of whole characters: JSON can write a lone surrogate (RFC 8259, 8.2), UTF-8 cannot."""
    return not any("\ud800" <= sign <= "\udfff" for sign in text)


__all__ = ["BookError", "ImportRefused", "Imported", "export_lines", "import_entries", "read_export"]
