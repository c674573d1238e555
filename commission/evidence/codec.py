"""Entry to JSON values and back. What cannot be read becomes `Unreadable`; nothing else ever comes out in its place."""

import json
from collections.abc import Callable
from typing import Any

import msgspec

from commission.dialect.sanitise import clean_text
from commission.evidence.entries import AnyEntry
from commission.evidence.entry import FORMAT, NOTHING_TOLD, PLAIN, About, AnyRecord, Entry, Record, Unreadable
from commission.evidence.steady import compact
from commission.evidence.upgrades import upgraded
from commission.evidence.wire import Bytes

LONGEST_REASON = 300
Each = Callable[[object], object]
"""Applied to the whole JSON value before it is understood, as to make its texts printable."""


class _Written(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """An entry as it stands in the book."""

    format: int
    entry: AnyEntry
    about: About = NOTHING_TOLD


class Unwritable(ValueError):
    """An entry that nobody could read back: an error of this program, found before anything is written."""


def written(entry: Entry, about: About = NOTHING_TOLD) -> dict[str, Any]:
    """The entry as values of JSON types, to be written in canonical form.

    Raises:
        Unwritable: it is not what its type says.
    """
    values: dict[str, Any] = {"format": PLAIN, "entry": msgspec.to_builtins(entry)}
    if about != NOTHING_TOLD:
        values["about"] = msgspec.to_builtins(about)
    try:
        msgspec.convert(values, _Written)
    except msgspec.ValidationError as error:
        raise Unwritable(f"An entry of kind {entry.kind()} cannot be written: {_reason(error)}") from error
    shorter = compact(values["entry"])
    return values if shorter == values["entry"] else values | {"format": FORMAT, "entry": shorter}


def read(kind: str, text: str, each: Each | None = None) -> tuple[Entry | Unreadable, About]:
    """The entry, and what it belongs to, from the text in the book.

    Args:
        kind: as the book lists it; an entry whose own text says another is not believed.
        text: JSON, of the present form or an older one.
        each: see `Each`; left out, the values are taken as they are.
    """
    try:
        values = _JSON.decode(text)
        values = values if each is None else each(values)
        found = msgspec.convert(upgraded(kind, values), _Written)
    except (ValueError, TypeError, RecursionError, msgspec.ValidationError) as error:
        return Unreadable(kind, _reason(error)), NOTHING_TOLD
    if found.entry.kind() != kind:
        return Unreadable(kind, f"its text tells of {found.entry.kind()}"), NOTHING_TOLD
    return found.entry, found.about


def record(
    kind: str,
    text: str,
    *,
    sequence: int,
    run: str,
    at: str,
    elapsed_us: int,
    raw: bytes = b"",
    each: Each | None = None,
) -> AnyRecord:
    """The entry with its place in the book; see `read` and `Record`."""
    entry, about = read(kind, text, each)
    if isinstance(entry, Bytes) and entry.size != len(raw):
        entry = Unreadable(kind, "its parts are not as long as its bytes")
    return Record(sequence, run, at, elapsed_us, entry, about, raw)


def _no_number(text: str) -> float:
    raise ValueError(f"{text} is no number")


_JSON = json.JSONDecoder(parse_constant=_no_number)


def _reason(error: Exception) -> str:
    """In words that print, whatever stands in the text."""
    said = clean_text(str(error).partition("\n")[0])
    said = said.replace(" - at `$.entry`", "").replace("`$.entry.", "`").replace(" - at `$`", "")
    return said if len(said) <= LONGEST_REASON else f"{said[:LONGEST_REASON]}…"
