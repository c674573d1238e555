"""A scripted operator as data: which request gets which answer, and what the hands do first.

The format is described with an example in `script.md` beside this file. Everything that can be wrong with a script is
said when it is loaded, with file, entry and key, except an answer that does not fit its request: only the run shows
which requests there are.
"""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any

from commission.desk.base import DeskError
from commission.files.reading import read_whole

FORMAT = 1
LONGEST_WAIT_S = 3600.0
# A bench command answers in well under a second; one that hangs must not hold a run for ever.
DEFAULT_TIMEOUT_S = 20.0

_TOP_KEYS = {"format", "answer"}
_ENTRY_KEYS = {"request", "answer", "run", "after_s", "timeout_s", "times", "sensor"}
_PLACEHOLDER = re.compile(r"\{([A-Za-z_][A-Za-z0-9_]*)\}")


@dataclass(frozen=True)
class ScriptEntry:
    """One way to answer.

    Attributes:
        number: the entry's place in the file, from 1.
        request: key of the request, or a shell-style pattern of keys.
        answer: what is answered.
        run: commands run first, one after the other, each a list of words.
        after_s: time between the prompt and the first command, in seconds.
        timeout_s: the longest one command may take.
        times: how often this entry may be used; None for any number.
        sensor: it is meant while this one of several sensors is under test; empty for whenever.
    """

    number: int
    request: str
    answer: str
    run: tuple[tuple[str, ...], ...] = ()
    after_s: float = 0.0
    timeout_s: float = DEFAULT_TIMEOUT_S
    times: int | None = None
    sensor: str = ""

    def matches(self, key: str, sensor: str = "") -> bool:
        """Whether this entry is meant for the request of that key, while that sensor is under test."""
        return fnmatchcase(key, self.request) and (not self.sensor or fnmatchcase(sensor, self.sensor))

    @property
    def placeholders(self) -> frozenset[str]:
        """The names in braces that the commands need."""
        return frozenset(name for words in self.run for word in words for name in _PLACEHOLDER.findall(word))

    def commands(self, variables: Mapping[str, str]) -> list[list[str]]:
        """The commands with the names in braces filled in; braces around anything else stay as they are."""
        return [[_PLACEHOLDER.sub(lambda hit: variables[hit[1]], word) for word in words] for words in self.run]


_TOO_LONG = re.compile(r"[0-9_]{4300}")
"""So many digits are the most that the language turns into a number (Python documentation, "Integer string conversion
length limitation")."""


@dataclass(frozen=True)
class OperatorScript:
    """All entries of a file, in order; `name` is how errors call the file."""

    name: str
    entries: tuple[ScriptEntry, ...]

    @classmethod
    def load(cls, path: Path) -> "OperatorScript":
        """Read a script from a file.

        Raises:
            DeskError: the file cannot be read or is no valid script; says where and what to do.
        """
        try:
            text = read_whole(path).decode("utf-8")
        except (OSError, UnicodeDecodeError) as error:
            raise DeskError(f"The operator script {path} cannot be read: {error}") from error
        return cls.parse(text, str(path))

    @classmethod
    def parse(cls, text: str, name: str) -> "OperatorScript":
        """Read a script from text.

        Raises:
            DeskError: it is no valid script; says where and what to do.
        """
        try:
            table = tomllib.loads(text)
        except tomllib.TOMLDecodeError as error:
            raise DeskError(f"{name} is not valid TOML: {error}") from error
        except (ValueError, RecursionError) as error:  # a number or a nesting beyond what the language takes
            raise DeskError(f"{name} cannot be read{_beyond(text)}: {error}") from error
        _check_version(name, table)
        _refuse_unknown(name, table, _TOP_KEYS)
        entries = table.get("answer", [])
        if not isinstance(entries, list):
            raise DeskError(f"{name}: write each answer as a table of its own, headed [[answer]]")
        return cls(
            name, tuple(_entry(f"{name}, answer {number}", number, raw) for number, raw in enumerate(entries, 1))
        )

    def check_variables(self, variables: Mapping[str, str]) -> None:
        """Refuse a script that needs a name nobody fills in.

        Raises:
            DeskError: names the entry and what could be used.
        """
        for entry in self.entries:
            for name in sorted(entry.placeholders - variables.keys()):
                known = ", ".join(f"{{{known}}}" for known in sorted(variables))
                raise DeskError(f"{self.name}, answer {entry.number}: nothing fills in {{{name}}}; known are {known}")


def _beyond(text: str) -> str:
    """Where a number stands that is too long to be read."""
    lines = (number for number, line in enumerate(text.split("\n"), 1) if _TOO_LONG.search(line))
    return "".join(f", line {number}" for number in list(lines)[:1])


def _check_version(name: str, table: Mapping[str, Any]) -> None:
    version = table.get("format")
    if version is None:
        raise DeskError(f"{name}: begin the script with: format = {FORMAT}")
    if version != FORMAT or isinstance(version, bool):
        raise DeskError(f"{name}: format {version!r} is not known to this version, which reads format {FORMAT}")


def _refuse_unknown(where: str, table: Mapping[str, Any], known: set[str]) -> None:
    for key in table:
        if key not in known:
            raise DeskError(f"{where}: unknown key {key!r}; known are {', '.join(sorted(known))}")


def _entry(where: str, number: int, raw: object) -> ScriptEntry:
    if not isinstance(raw, dict):
        raise DeskError(f"{where}: write each answer as a table of its own, headed [[answer]]")
    _refuse_unknown(where, raw, _ENTRY_KEYS)
    return ScriptEntry(
        number=number,
        request=_text(where, raw, "request"),
        answer=_text(where, raw, "answer", may_be_empty=True),
        run=_commands(where, raw["run"]) if "run" in raw else (),
        after_s=_time(where, raw, "after_s", 0.0),
        timeout_s=_time(where, raw, "timeout_s", DEFAULT_TIMEOUT_S),
        times=_times(where, raw.get("times")),
        sensor=_text(where, raw, "sensor") if "sensor" in raw else "",
    )


def _text(where: str, raw: Mapping[str, Any], key: str, *, may_be_empty: bool = False) -> str:
    value = raw.get(key)
    if not isinstance(value, str) or not (value or may_be_empty):
        raise DeskError(f"{where}: {key} must be given as a text in quotes")
    return value


def _commands(where: str, value: object) -> tuple[tuple[str, ...], ...]:
    if not isinstance(value, list):
        raise DeskError(f"{where}: run must be a list of words, or a list of such lists")
    commands = value if value and all(isinstance(item, list) for item in value) else [value]
    for words in commands:
        if not words or not all(isinstance(word, str) for word in words) or not words[0]:
            raise DeskError(
                f"{where}: run must be a list of words in quotes, or a list of such lists; none may be empty"
            )
    return tuple(tuple(words) for words in commands)


def _time(where: str, raw: Mapping[str, Any], key: str, default_s: float) -> float:
    value = raw.get(key, default_s)
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= LONGEST_WAIT_S:
        raise DeskError(f"{where}: {key} must be a number of seconds from 0 to {LONGEST_WAIT_S:g}")
    return float(value)


def _times(where: str, value: object) -> int | None:
    if value is not None and (isinstance(value, bool) or not isinstance(value, int) or value < 1):
        raise DeskError(f"{where}: times must be a whole number of at least 1; leave it out for any number")
    return value if isinstance(value, int) else None
