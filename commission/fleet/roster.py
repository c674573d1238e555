"""The roster: a hand-written file that says which printers there are, where they stand, and how each is reached.

TOML 1.0, read with the standard library. Everything that is wrong with a file is said at once, each with its line:

    format = 1
    shared = "postgresql://bench@books.example/commission"  # the shared book of all benches, if there is one

    [[printer]]
    tag = "bench-3"                                   # the owner's name for it; the only key that must be there
    place = "workshop, second bench"
    port = "/dev/serial/by-id/usb-example-if00"       # as for --port
    speed = 115200                                    # baud
    source = "switch_line"                            # how its reading is asked for
    wiring = "fail-safe"                              # what a broken wire reads as
    notes = "cover screw is missing"
"""

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from commission.dialect.sanitise import clean_text
from commission.dialect.sources.report import SourceKind
from commission.files.reading import read_whole
from commission.link.address import parse_address
from commission.link.base import PortUnusable
from commission.records.shared.address import SharedAddress, is_address
from commission.vocabulary import FailSafe

FORMAT = 1
LONGEST_TEXT = 500
LEAST_BAUD, MOST_BAUD = 300, 20_000_000
WIRINGS = tuple(each.value for each in FailSafe)
SOURCES = tuple(each.value for each in SourceKind)
_TEXTS = ("tag", "place", "port", "source", "wiring", "notes")
KEYS = ("tag", "place", "port", "speed", "source", "wiring", "notes")
_HEADER = re.compile(r"\s*\[\[\s*printer\s*\]\]")
_KEY = re.compile(r"""\s*["']?([A-Za-z0-9_-]+)["']?\s*=""")
_AT = re.compile(r"\(at line (\d+), column \d+\)")


@dataclass(frozen=True)
class Listed:
    """One printer of the roster; empty texts and a speed of 0 where the file says nothing."""

    tag: str
    place: str = ""
    port: str = ""
    speed: int = 0
    source: str = ""
    wiring: str = ""
    notes: str = ""


@dataclass(frozen=True)
class Complaint:
    """What is wrong, and in which line."""

    line: int
    what: str


class RosterError(Exception):
    """The roster cannot be used; `complaints` holds everything that is wrong with it, in the order of its lines."""

    def __init__(self, complaints: Sequence[Complaint]) -> None:
        self.complaints = tuple(sorted(complaints, key=lambda each: each.line))
        super().__init__("\n".join(f"line {each.line}: {each.what}" for each in self.complaints))


def read_roster(place: Path) -> list[Listed]:
    """The printers of a roster file, in its order.

    Raises:
        RosterError: something in it is wrong.
        OSError: it cannot be read.
    """
    return parse_roster(_text(place))


def read_shared(place: Path) -> str:
    """The address of the shared book that a roster file names; empty where it names none.

    Raises:
        RosterError: something in it is wrong.
        OSError: it cannot be read.
    """
    return str(_parsed(_text(place))[0].get("shared", ""))


def _text(place: Path) -> str:
    try:
        return read_whole(place).decode("utf-8")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise RosterError([Complaint(line, "this is no UTF-8 text")]) from error


def parse_roster(text: str) -> list[Listed]:
    """The printers of a roster.

    Raises:
        RosterError: something in it is wrong.
    """
    return [Listed(**{key: table[key] for key in KEYS if key in table}) for table in _parsed(text)[1]]


def _parsed(text: str) -> tuple[Mapping[str, Any], list[Mapping[str, Any]]]:
    """All values, and those of the printers; nothing is wrong with them."""
    try:
        values = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        found = _AT.search(str(error))
        line = int(found[1]) if found else max(1, text.count("\n"))
        raise RosterError([Complaint(line, f"this is no TOML: {_AT.sub('', str(error)).strip()}")]) from error
    lines = _Lines(text)
    complaints = list(_whole(values, lines))
    tables = values.get("printer", [])
    tables = [each for each in tables if isinstance(each, dict)] if isinstance(tables, list) else []
    for place, table in enumerate(tables):
        complaints += _printer(table, place, lines)
    complaints += _doubles(tables, lines)
    if complaints:
        raise RosterError(complaints)
    return values, tables


class _Lines:
    """Where things stand in the text: the library tells no lines of what it has read."""

    def __init__(self, text: str) -> None:
        self._top: dict[str, int] = {}
        self._blocks: list[tuple[int, dict[str, int]]] = []
        within = ""
        for number, line in enumerate(text.splitlines(), start=1):
            outside, within = not within, _text_goes_on(line, within)
            if not outside:
                continue
            if _HEADER.match(line):
                self._blocks.append((number, {}))
            elif found := _KEY.match(line):
                keys = self._blocks[-1][1] if self._blocks else self._top
                keys.setdefault(found[1], number)

    def top(self, key: str) -> int:
        """The line of a key of the whole file; 1 where it is not found."""
        return self._top.get(key, 1)

    def of(self, place: int, key: str = "") -> int:
        """The line of a printer's key, else of its heading."""
        if place >= len(self._blocks):
            return self.top("printer")
        header, keys = self._blocks[place]
        return keys.get(key, header)


def _text_goes_on(line: str, within: str) -> str:
    """The quotes of a text of several lines that is still open behind this line; empty where none is."""
    place = 0
    while True:
        ends = [(line.find(quotes, place), quotes) for quotes in ([within] if within else ['"""', "'''"])]
        ends = [(at, quotes) for at, quotes in ends if at >= 0 and (within or "#" not in line[:at])]
        if not ends:
            return within
        at, quotes = min(ends)
        place, within = at + 3, "" if within else quotes


def _whole(values: Mapping[str, Any], lines: _Lines) -> Iterator[Complaint]:
    if type(values.get("format")) is not int or values["format"] != FORMAT:
        said = "there is no `format`" if "format" not in values else "this format is not known"
        yield Complaint(lines.top("format"), f"{said}: write `format = {FORMAT}` above all printers")
    if "shared" in values and (what := _wrong_shared(values["shared"])):
        yield Complaint(lines.top("shared"), what)
    for key in values.keys() - {"format", "shared", "printer"}:
        yield Complaint(lines.top(key), f"`{clean_text(key)}` is no key of a roster")
    tables = values.get("printer", [])
    if not isinstance(tables, list) or not all(isinstance(each, dict) for each in tables):
        yield Complaint(lines.top("printer"), "write each printer under its own heading `[[printer]]`")


def _wrong_shared(value: Any) -> str:
    """What is wrong with the address of the shared book; a roster is read by many, so no password stands in it."""
    if not isinstance(value, str) or not is_address(value):
        return "`shared` is the address of the shared book: write postgresql://USER@HOST/DATABASE in quotes"
    if SharedAddress(value).has_password:
        return "`shared`: no password belongs in a roster; keep it in the file ~/.pgpass"
    return ""


def _printer(table: Mapping[str, Any], place: int, lines: _Lines) -> Iterator[Complaint]:
    if "tag" not in table:
        yield Complaint(lines.of(place), "this printer has no `tag`: its name, as it stands on the machine")
    for key, value in table.items():
        what = _wrong(key, value)
        if what:
            yield Complaint(lines.of(place, key), what)


def _wrong(key: str, value: Any) -> str:
    """What is wrong with a value; empty where nothing is."""
    if key not in KEYS:
        return f"`{clean_text(key)}` is no key of a printer; there are {', '.join(KEYS)}"
    if key == "speed":
        sound = type(value) is int and LEAST_BAUD <= value <= MOST_BAUD
        return "" if sound else f"`speed` is a whole number of baud from {LEAST_BAUD} to {MOST_BAUD}"
    if not isinstance(value, str):
        return f"`{key}` is a text: put it in quotes"
    return _wrong_text(key, value)


def _wrong_text(key: str, value: str) -> str:
    if len(value) > LONGEST_TEXT or not value.replace("\n", " ").isprintable():
        return f"`{key}` is longer than {LONGEST_TEXT} characters or holds some that do not print"
    if key == "tag" and not value.strip():
        return "`tag` is empty: give the printer a name"
    if key == "port":
        try:
            parse_address(value)
        except PortUnusable as error:
            return f"`port`: {error}"
    words = {"wiring": WIRINGS, "source": SOURCES}.get(key, ())
    return f"`{key}` is one of {', '.join(words)}" if words and value not in words else ""


def _doubles(tables: Sequence[Mapping[str, Any]], lines: _Lines) -> Iterator[Complaint]:
    """Two printers of one name, or behind one port."""
    for key in ("tag", "port"):
        first: dict[str, int] = {}
        for place, table in enumerate(tables):
            value = table.get(key)
            if not isinstance(value, str):
                continue
            if value in first:
                before = lines.of(first[value], key)
                yield Complaint(lines.of(place, key), f"the {key} {clean_text(value)} stands in line {before} already")
            first.setdefault(value, place)


def as_toml(printers: Sequence[Listed], said: Sequence[str] = (), shared: str = "") -> str:
    """A roster with these printers, as a person would write it; `said` stands above it as remarks."""
    blocks = [*(f"# {line}" for line in said), f"format = {FORMAT}"]
    blocks += [f"shared = {_value(shared)}"] if shared else []
    for each in printers:
        blocks += ["", "[[printer]]"]
        blocks += [f"{key} = {_value(getattr(each, key))}" for key in KEYS if getattr(each, key)]
    return "\n".join(blocks) + "\n"


def _value(value: str | int) -> str:
    """A basic string or a number (TOML 1.0, "String")."""
    if isinstance(value, int):
        return str(value)
    named = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t"}
    return '"' + "".join(named.get(sign, sign if sign.isprintable() else f"\\U{ord(sign):08X}") for sign in value) + '"'


__all__ = ["FORMAT", "Complaint", "Listed", "RosterError", "as_toml", "parse_roster", "read_roster", "read_shared"]
