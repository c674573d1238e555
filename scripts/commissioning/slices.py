"""A campaign in slices: each slice a file with the numbers it carried out, added up when all are there.

A slice is the JSON of a campaign with `--numbers`. The same seed and number are the same commissioning, so slices that
overlap would count one twice: they are refused, and so are slices of different seeds or slips, which are other people.
"""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from scripts.commissioning.campaign import Order, add, shorten
from scripts.commissioning.figures import Claim, Row
from scripts.commissioning.kinds import KINDS


class NotASlice(ValueError):
    """A file that cannot be added up with the others; the text says which and why."""


def added_up(files: Sequence[Path]) -> tuple[Order, list[Row]]:
    """The rows of all slices, one a kind, and the order that they would be of in one go.

    Raises:
        NotASlice: a file is none, is of another seed or other slips, or holds numbers that another one holds.
    """
    rows: dict[str, Row] = {}
    taken: dict[str, list[tuple[int, int, Path]]] = {}
    one: dict[str, Any] | None = None
    for file in files:
        slice_ = _read(file)
        one = slice_ if one is None else one
        if (slice_["seed"], slice_["slips"]) != (one["seed"], one["slips"]):
            raise NotASlice(f"{file} is of seed {slice_['seed']} and slips {slice_['slips']}, unlike {files[0]}.")
        first, end = slice_["numbers"]
        for part in slice_["kinds"]:
            row = _row(part, file)
            _free(taken.setdefault(row.kind, []), first, end, file, row)
            add(rows.setdefault(row.kind, Row(row.kind, row.claim, slips=row.slips, honest=row.honest)), row)
    if one is None:
        raise NotASlice("No slice was named.")
    for row in rows.values():
        shorten(row)
    most = max(row.runs for row in rows.values())
    return Order(most, one["seed"], tuple(rows), one["slips"]), [rows[name] for name in KINDS if name in rows]


def _read(file: Path) -> dict[str, Any]:
    try:
        found = json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise NotASlice(f"{file} cannot be read: {error}") from error
    needed = {"seed", "slips", "numbers", "kinds"}
    if not isinstance(found, dict) or not needed <= found.keys() or not found["numbers"]:
        raise NotASlice(f"{file} is no slice: make one with --only KIND --numbers FIRST:END --json FILE.")
    return found


def _row(part: dict[str, Any], file: Path) -> Row:
    try:
        row = Row(**{**part, "claim": Claim[part["claim"]]})
    except (KeyError, TypeError) as error:
        raise NotASlice(f"{file} holds no counts of a kind: {error}") from error
    if row.kind not in KINDS:
        raise NotASlice(f"{file} is of a kind that there is not: {row.kind!r}.")
    return row


def _free(taken: list[tuple[int, int, Path]], first: int, end: int, file: Path, row: Row) -> None:
    """Take these numbers of the kind."""
    if row.runs != end - first:
        raise NotASlice(f"{file} was not carried out whole: {row.runs} of {end - first} commissionings of {row.kind}.")
    for begun, ended, other in taken:
        if first < ended and begun < end:
            raise NotASlice(f"{file} and {other} hold the same commissionings of {row.kind}.")
    taken.append((first, end, file))
