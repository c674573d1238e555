"""Settings listings: one item per command line, with the words that select, the values and the bare flags.

Which letter is an index and which a value is grammar, and stands here as a table; what a value means is the business
of the room that compares settings.
"""

import math
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from commission.dialect.replies import acknowledgement

# Letters that say *which one* is set: a tool, a driver, a place in a table. Everywhere else the same letter is a value
# (T of M204 is a speed change, S of M569 a mode). Axis letters without a number are flags, not selectors.
SELECTORS: Mapping[str, str] = MappingProxyType(
    {
        "G10": "PL",
        "G29": "IJ",
        "M92": "T",
        "M145": "S",
        "M200": "T",
        "M201": "T",
        "M203": "T",
        "M218": "T",
        "M281": "P",
        "M301": "E",
        "M305": "P",
        "M306": "E",
        "M421": "IJ",
        "M563": "P",
        "M569": "IT",
        "M591": "D",
        "M603": "T",
        "M871": "I",
        "M900": "T",
        "M906": "IT",
        "M907": "T",
        "M911": "IT",
        "M913": "IT",
        "M914": "IT",
        "M919": "IT",
        "EPR": "TP",
    }
)

# Commands that settings listings are made of. Without a prefix, without blanks and outside a listing, only these are
# taken for settings; anything else is our own command said back.
_LISTED = re.compile(
    r"G(?:20|21|29)|M(?:92|145|149|20[0-9]|217|218|281|301|304|305|306|309|412|413|414|420|421|425|493|569|59[123]|603"
    r"|665|666|710|808|851|871|900|906|907|913|914|919)"
)

_LINE = re.compile(
    r"(?P<echo>echo:)?(?P<indent> *)(?P<command>[A-Z]\d{1,4}(?:\.\d{1,2})?)(?=[ ;]|$)(?P<words>[^;]*)(?P<comment>;.*)?$"
)
_WORD = re.compile(r"(?P<letter>[A-Z])(?P<number>[-+]?(?:\d+(?:\.\d*)?|\.\d+))?$")
_REMARK = re.compile(r"\([^()]*\)")
_TABLE_LINE = re.compile(r"EPR:(?P<type>\d{1,2}) (?P<place>\d{1,6}) (?P<value>[-+]?\d+(?:\.\d*)?)(?: (?P<name>.*))?$")
_HEADING = re.compile(
    r"(?:echo:)?\s*;"
    r"|echo:\s*(?:steps per unit|maximum (?:feedrates|acceleration)|accelerations?\b|advanced|home offset"
    r"|hotend offsets|endstop adjustment|pid settings|filament settings|material heatup|z-probe offset"
    r"|(?:auto|unified|mesh) bed level|retract|recover|auto-retract|linear advance|stepper driver|power-loss"
    r"|filament (?:load|runout))"
    r"|echo:\s*[A-Z][^:\"]{0,80}:\s*$",
    re.IGNORECASE,
)
_MESH_STATUS = re.compile(
    r"(?:echo:)?\s*(?:unified bed leveling\b|active mesh slot:|eeprom can hold|mesh (?:data|loaded|slot))",
    re.IGNORECASE,
)
_CONTINUATION = re.compile(r" +\([^()]*\)\s*$")
_LETTERED = re.compile(r"(?<![\w.])[A-Z][-+]?\d+(?:\.\d+)?(?![\w.:])")
_GLUED = re.compile(r"(?<!^)(?=echo: {1,3}[A-Z]\d{1,4}(?:[ ;]|$))")


@dataclass(frozen=True)
class SettingsLine:
    """One settings line.

    Attributes:
        command: the command word, as in `M92`.
        selectors: words that say which one is set.
        values: words that say to what.
        flags: words without a number, in their order.
        occurrence: counts lines with the same command, selectors and flags from 1: some differ by order alone.
        line: the line as printed.
        number_texts: the digits of every number as printed, by letter, for their precision.
        unread_words: words this grammar cannot read; such a line is never given back to a printer.
    """

    command: str
    selectors: Mapping[str, str | float] = field(default_factory=dict)
    values: Mapping[str, float] = field(default_factory=dict)
    flags: tuple[str, ...] = ()
    occurrence: int = 1
    line: str = ""
    number_texts: Mapping[str, str] = field(default_factory=dict)
    unread_words: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not self.command or self.occurrence < 1:
            raise ValueError("a settings line has a command and counts from 1")
        if not all(math.isfinite(value) for value in self.values.values()):
            raise ValueError(f"a setting is a finite number: {self.line!r}")
        for name in ("selectors", "values", "number_texts"):
            object.__setattr__(self, name, MappingProxyType(dict(getattr(self, name))))

    @property
    def key(self) -> tuple[object, ...]:
        """What tells this line from the others of its listing, its occurrence apart."""
        return (self.command, tuple(sorted(self.selectors.items())), self.flags)


def unglued(text: str) -> list[str]:
    """A line taken apart where a settings line was printed without a newline before it."""
    return _GLUED.split(text) if "echo:" in text[1:] else [text]


def like_a_setting(text: str) -> bool:
    """Whether a line looks like a setting that was damaged: a command word, or two words of a letter and a number."""
    words = _LETTERED.findall(text)
    return len(words) > 1 or any(re.fullmatch(r"[GM]\d{1,4}", word) for word in words)


class SettingsReader:
    """Reads a listing line by line; `take` says whether a line was part of one."""

    def __init__(self) -> None:
        self._items: list[SettingsLine] = []
        self._seen: Counter[tuple[object, ...]] = Counter()
        self._in_listing = False
        self._adjacent = False
        self._comment_open = False

    @property
    def items(self) -> tuple[SettingsLine, ...]:
        """The settings lines so far."""
        return tuple(self._items)

    def take(self, text: str) -> str | None:
        """Take one line: `setting`, `heading`, `continuation`, or None when it belongs to no listing."""
        if self._comment_open and _CONTINUATION.match(text):
            self._comment_open = False
            self._items[-1] = replace(self._items[-1], line=f"{self._items[-1].line}{text}")
            return "continuation"
        self._comment_open = False
        part = self._part(text)
        if part is not None:
            self._in_listing = True
        elif acknowledgement(text) is not None:
            self._in_listing = False
        self._adjacent = part is not None or (self._adjacent and not text.strip())
        return part

    def _part(self, text: str) -> str | None:
        if item := parse_line(text, in_listing=self._in_listing, adjacent=self._adjacent):
            self._append(item)
            return "setting"
        return "heading" if _HEADING.match(text) or _MESH_STATUS.match(text) else None

    def _append(self, item: SettingsLine) -> None:
        self._comment_open = item.line.rstrip().endswith(";")
        self._seen[item.key] += 1
        self._items.append(replace(item, occurrence=self._seen[item.key]))


def parse_line(text: str, *, in_listing: bool = False, adjacent: bool = False) -> SettingsLine | None:
    """One settings line, or None when the line is none.

    Args:
        text: the line, printable.
        in_listing: a settings listing began and was not acknowledged yet.
        adjacent: the line before was part of a listing.
    """
    if found := _TABLE_LINE.match(text):
        return _table_item(found, text)
    found = _LINE.match(text)
    if found is None or not (found["indent"] or adjacent or _bare_setting(found, in_listing=in_listing)):
        return None
    item = _item(found["command"], _REMARK.sub(" ", found["words"]).split(), text)
    private = found["command"][0] not in "GM"
    return None if private and (item.unread_words or not found["words"].strip()) else item


def _bare_setting(found: re.Match[str], *, in_listing: bool) -> bool:
    return _LISTED.fullmatch(found["command"]) is not None and (in_listing or found["comment"] is not None)


def _item(command: str, words: list[str], text: str) -> SettingsLine:
    letters = _selecting(command, words)
    selectors: dict[str, str | float] = {}
    values: dict[str, float] = {}
    flags: list[str] = []
    texts: dict[str, str] = {}
    unread: list[str] = []
    for word in words:
        read = _WORD.match(word)
        if read is None or read["letter"] in texts:
            unread.append(word)
        elif read["number"] is None:
            flags.append(word)
        elif not math.isfinite(value := float(read["number"])):
            unread.append(word)
        else:
            texts[read["letter"]] = read["number"]
            if read["letter"] in letters:
                selectors[read["letter"]] = int(value) if value.is_integer() else value
            else:
                values[read["letter"]] = value
    return SettingsLine(command, selectors, values, tuple(flags), 1, text, texts, tuple(unread))


def _selecting(command: str, words: list[str]) -> str:
    # The oldest mesh listing counts its points by X and Y instead, and a fork's monitor its drives by E.
    if command == "G29" and words[:1] == ["S3"]:
        return "SXY"
    if command == "M591" and words[:1] and words[0].startswith("E"):
        return "E"
    return SELECTORS.get(command, "")


def _table_item(found: re.Match[str], text: str) -> SettingsLine | None:
    # Written back as a fraction with X, or as a whole number with S, by the type in front.
    letter = "X" if found["type"] == "3" else "S"
    if not math.isfinite(value := float(found["value"])):
        return None
    selectors: dict[str, str | float] = {"T": int(found["type"]), "P": int(found["place"])}
    texts = {"T": found["type"], "P": found["place"], letter: found["value"]}
    return SettingsLine("EPR", selectors, {letter: value}, (), 1, text, texts)
