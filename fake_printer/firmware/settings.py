"""Settings in working memory, their layout in the settings memory, and how each generation reports them."""

import math
import struct
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from fake_printer.build_spec import FirmwareSpec
from fake_printer.firmware.command import Command
from fake_printer.memory import Memory, Retrieval, Retrieved
from fake_printer.tables import record_from


@dataclass(frozen=True)
class Entry:
    """One settings line of the report; `report.toml` explains the fields."""

    key: str
    decimals: int
    heading: dict[str, str]
    default: dict[str, float]
    note: str = ""
    whole: tuple[str, ...] = ()
    only: dict[str, tuple[str, ...]] = field(default_factory=dict)
    mesh: bool = False

    @property
    def code(self) -> str:
        """The command without the word that selects."""
        return self.key.split()[0]

    @property
    def selector(self) -> str:
        """The words that select one of several lines, or an empty text."""
        return self.key.partition(" ")[2]


@cache
def all_entries() -> tuple[Entry, ...]:
    """Every entry of `report.toml`."""
    table = tomllib.loads((Path(__file__).parent / "report.toml").read_text(encoding="utf-8"))
    return tuple(record_from(Entry, entry, "entry") for entry in table["entry"])


class Settings:
    """The working values of one build."""

    def __init__(self, spec: FirmwareSpec) -> None:
        self._spec = spec
        self.entries = tuple(entry for entry in all_entries() if self._built_in(entry))
        self.values: dict[str, dict[str, float]] = {}
        self.load_defaults()

    def _built_in(self, entry: Entry) -> bool:
        if entry.key == "M412" and not self._spec.runout.compiled:
            return False
        if entry.mesh and not self._spec.mesh:
            return False
        return self._spec.generation in entry.heading

    def load_defaults(self) -> None:
        """The build's own values."""
        self.values = {entry.key: self._defaults_of(entry) for entry in self.entries}

    def _defaults_of(self, entry: Entry) -> dict[str, float]:
        letters = entry.only.get(self._spec.generation, tuple(entry.default))
        words = {**entry.default, **self._spec.settings.get(entry.key, {})}
        return {letter: words[letter] for letter in letters}

    def overlay(self, values: Mapping[str, Mapping[str, float]]) -> None:
        """Lay these over the working values; what the build does not know is left out."""
        for key, words in values.items():
            if key in self.values:
                self.values[key].update({k: v for k, v in words.items() if k in self.values[key]})

    def get(self, key: str, letter: str, otherwise: float) -> float:
        """One value, or `otherwise` where the build has no such setting."""
        return self.values.get(key, {}).get(letter, otherwise)

    def knows(self, code: str) -> bool:
        """Whether this command sets something here."""
        return any(entry.code == code for entry in self.entries)

    def set_from(self, command: Command) -> bool:
        """Take the values of a settings command; false when it selects a line that does not exist."""
        lines = [e for e in self.entries if e.code == command.code and _selects(e, command)]
        for entry in lines:
            for letter in self.values[entry.key]:
                value = command.number_of(letter)
                if value is not None:
                    self.values[entry.key][letter] = value
        return bool(lines)

    @property
    def size(self) -> int:
        """Bytes that the values take in the settings memory."""
        return 8 * sum(len(words) for words in self.values.values())

    def pack(self) -> bytes:
        """The values in the order of this build's layout, without names: another layout reads nonsense."""
        numbers = [value for words in self.values.values() for value in words.values()]
        return struct.pack(f"<{len(numbers)}d", *numbers)

    def unpack(self, payload: bytes) -> None:
        """The reverse of `pack`."""
        numbers = iter(struct.unpack(f"<{len(payload) // 8}d", payload))
        self.values = {key: {letter: next(numbers) for letter in words} for key, words in self.values.items()}

    def store(self, memory: Memory) -> tuple[int, int]:
        """Write to the memory; returns size and checksum."""
        payload = self.pack()
        written = payload[: len(payload) // 2] if self._spec.save_fails else payload
        return len(payload), memory.store(self._spec.storage_version, written)

    def retrieve(self, memory: Memory) -> Retrieval:
        """Read from the memory; defaults where it is not usable."""
        found = memory.retrieve(self._spec.storage_version, self.size)
        if isinstance(found, Retrieved):
            self.unpack(found.payload)
        else:
            self.load_defaults()
            if self._spec.starts_over:
                self.store(memory)
        if not self._spec.runout.stores_enabled:
            self.overlay({"M412": {"S": self._spec.settings.get("M412", {}).get("S", 1.0)}})
        return found

    def report(self, *, bare: bool = False) -> list[str]:
        """The settings report in this generation's form; bare: command lines alone, without prefix or heading."""
        lines = _unit_lines(self._spec.generation)
        for entry in self.entries:
            if entry.heading[self._spec.generation]:
                lines.append(_heading(self._spec.generation, entry))
            lines.append(_line(self._spec.generation, entry, self.values[entry.key]))
        if bare:
            return [line.removeprefix("echo:").strip().split(" ;")[0] for line in lines if _is_command_line(line)]
        return lines


def _selects(entry: Entry, command: Command) -> bool:
    return all(_has(command, word) for word in entry.selector.split())


def _has(command: Command, word: str) -> bool:
    return command.has(word) if len(word) == 1 else command.number_of(word[0]) == float(word[1:])


def _unit_lines(generation: str) -> list[str]:
    if generation == "1.1":
        return ["echo:  G21    ; Units in mm", "echo:  M149 C ; Units in Celsius", ""]
    if generation == "2.0":
        return ["echo:  G21    ; Units in mm (mm)", "echo:  M149 C ; Units in Celsius", ""]
    length = ["echo:; Linear Units:", "echo:  G21 ; (mm)"]
    return [*length, "echo:; Temperature Units:", "echo:  M149 C ; Units in Celsius"]


def _heading(generation: str, entry: Entry) -> str:
    text = entry.heading[generation]
    return f"echo:{text}" if generation == "1.1" else f"echo:; {text}"


def _line(generation: str, entry: Entry, words: Mapping[str, float]) -> str:
    # the middle generation writes this one line with a single blank
    indent = " " if generation == "2.0" and entry.key == "M92" else "  "
    printed = " ".join(_word(entry, letter, value) for letter, value in words.items())
    note = entry.note.format(on="ON" if words.get("S") else "OFF") if generation == "2.1" else ""
    return f"echo:{indent}{entry.key} {printed}" + (f" ; {note}" if note else "")


def _word(entry: Entry, letter: str, value: float) -> str:
    if letter in entry.whole and math.isfinite(value):
        return f"{letter}{value:.0f}"
    return f"{letter}{value:.{entry.decimals}f}"


def _is_command_line(line: str) -> bool:
    text = line.removeprefix("echo:").strip()
    return bool(text) and text[0] in "GM" and text[1:2].isdigit()
