"""Entry to JSON values and back. What cannot be read becomes `Unreadable`; nothing else ever comes out in its place."""

import json
from collections.abc import Callable
from typing import Any

import msgspec

from commission.evidence.entries import AnyEntry
from commission.evidence.entry import FORMAT, NOTHING_TOLD, About, Entry, Unreadable
from commission.evidence.upgrades import upgraded

Each = Callable[[object], object]
"""Applied to the whole JSON value before it is understood, as to make its texts printable."""


class _Written(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """An entry as it stands in the book."""

    format: int
    entry: AnyEntry
    about: About = NOTHING_TOLD


def written(entry: Entry, about: About = NOTHING_TOLD) -> dict[str, Any]:
    """The entry as values of JSON types, to be written in canonical form."""
    values: dict[str, Any] = {"format": FORMAT, "entry": msgspec.to_builtins(entry)}
    if about != NOTHING_TOLD:
        values["about"] = msgspec.to_builtins(about)
    return values


def read(kind: str, text: str, each: Each | None = None) -> tuple[Entry | Unreadable, About]:
    """The entry, and what it belongs to, from the text in the book.

    Args:
        kind: as the book lists it; an entry whose own text says another is not believed.
        text: JSON, of the present form or an older one.
        each: see `Each`; left out, the values are taken as they are.
    """
    try:
        values = json.loads(text, parse_constant=_no_number)
        values = values if each is None else each(values)
        found = msgspec.convert(upgraded(kind, values), _Written)
    except (ValueError, TypeError, RecursionError, msgspec.ValidationError) as error:
        return Unreadable(kind, _reason(error)), NOTHING_TOLD
    if found.entry.kind() != kind:
        return Unreadable(kind, f"its text tells of {found.entry.kind()}"), NOTHING_TOLD
    return found.entry, found.about


def _no_number(text: str) -> float:
    raise ValueError(f"{text} is no number")


def _reason(error: Exception) -> str:
    said = str(error).partition("\n")[0]
    return said.replace("`$.entry", "`").replace(" - at `$`", "")
