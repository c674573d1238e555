"""Reading `commands.toml`: the one place where a description becomes a meaning, and where a bad one is refused."""

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from typing import Any

from commission.settings.meaning import (
    Band,
    CommandMeaning,
    Dimension,
    Fallback,
    LetterMeaning,
    Renaming,
    RestoreClass,
    Span,
    ZeroSwitch,
)
from commission.settings.table import BadTable, Checks, ReplacedSide, Replacement, ReportUnits, SettingsTable

FORMAT = 1
JUMP_FACTOR = 2.0
"""A steady setting that doubles or halves between two records was changed or lost: common practice, no source."""

SECTIONS = {"format", "units", "report_units", "commands", "replaced", "checks", "never", "expected"}
COMMAND_KEYS = {
    *("purpose", "source", "restore", "reason", "trap", "letters", "selectors", "tool", "per_tool", "flags"),
    *("needs_flag", "axis_flags", "together", "alien", "fallback", "renamed", "zero_switch", "last", "mesh"),
}
LETTER_KEYS = {
    *("of", "unit", "whole", "plausible", "hard", "more", "less", "jump_factor", "jump_step", "sign", "bands"),
}


@cache
def standard_table() -> SettingsTable:
    """The table that comes with the program, read once."""
    return read_table((resources.files("commission.settings") / "commands.toml").read_text(encoding="utf-8"))


def read_table(text: str) -> SettingsTable:
    """Read a table.

    Args:
        text: TOML as the head of `commands.toml` describes it.

    Raises:
        BadTable: it is badly written; the text lists the complaints.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as broken:
        raise BadTable(f"the table of commands is no TOML: {broken}") from broken
    if data.get("format") != FORMAT:
        raise BadTable(f"the table of commands has format {data.get('format')!r}; this program reads {FORMAT}")
    _refuse_unknown("the table", data, SECTIONS)
    try:
        return _table(data)
    except KeyError as missing:
        raise BadTable(f"the table of commands lacks {missing}") from missing


def _table(data: dict[str, Any]) -> SettingsTable:
    commands: dict[str, CommandMeaning] = {}
    complaints: list[str] = []
    for name, entry in data["commands"].items():
        try:
            commands[name] = _command(name, entry, data["units"])
        except KeyError as missing:
            complaints.append(f"{name}: lacks {missing}")
        except (ValueError, TypeError) as broken:
            complaints.append(str(broken) if str(broken).startswith(name) else f"{name}: {broken}")
    if complaints:
        raise BadTable("; ".join(complaints))
    check = data["checks"]["probe_and_home"]
    return SettingsTable(
        commands=commands,
        report_units=ReportUnits(**data["report_units"]),
        replaced=tuple(_replacement(pair) for pair in data["replaced"]),
        checks=Checks(
            check["probe"], check["home"], check["letter"], check["note"], float(data["checks"]["mesh_spread_mm"])
        ),
        never={command: group["kind"] for group in data["never"] for command in group["commands"]},
        expected={what: tuple(commands) for what, commands in data["expected"].items()},
    )


def _command(name: str, entry: dict[str, Any], units: Mapping[str, str]) -> CommandMeaning:
    _refuse_unknown(name, entry, COMMAND_KEYS)
    plain = {
        key: entry[key]
        for key in ("reason", "trap", "tool", "needs_flag", "axis_flags", "last", "mesh")
        if key in entry
    }
    per_tool = entry.get("per_tool")
    return CommandMeaning(
        command=name,
        purpose=entry["purpose"],
        source=entry["source"],
        restore=RestoreClass(entry["restore"]),
        letters={meaning.letter: meaning for meaning in _letters(entry.get("letters", {}), units)},
        selectors=tuple(entry.get("selectors", ())),
        per_tool=None if per_tool is None else tuple(per_tool),
        flags=tuple(entry.get("flags", ())),
        together=tuple(tuple(group) for group in entry.get("together", ())),
        alien=tuple(entry.get("alien", ())),
        fallback=tuple(_fallback(form) for form in entry.get("fallback", ())),
        renamed=tuple(_renaming(renaming) for renaming in entry.get("renamed", ())),
        zero_switch=ZeroSwitch(**entry["zero_switch"]) if "zero_switch" in entry else None,
        **plain,
    )


def _letters(entries: Mapping[str, dict[str, Any]], units: Mapping[str, str]) -> Iterator[LetterMeaning]:
    for letters, entry in entries.items():
        _refuse_unknown(f"letter {letters}", entry, LETTER_KEYS)
        for letter in letters.split():
            yield _letter(letter, entry, units)


def _letter(letter: str, entry: dict[str, Any], units: Mapping[str, str]) -> LetterMeaning:
    if entry["unit"] not in units:
        raise ValueError(f"letter {letter}: the unit {entry['unit']!r} is not listed")
    plausible = _span(entry.get("plausible"))
    steady = plausible is not None and plausible.low > 0
    jump_factor = entry.get("jump_factor", JUMP_FACTOR if steady else 0)
    return LetterMeaning(
        letter=letter,
        of=entry["of"].replace("{letter}", letter),
        unit=entry["unit"],
        dimension=Dimension(units[entry["unit"]]),
        plausible=plausible,
        hard=_span(entry.get("hard")),
        whole=entry.get("whole", False),
        more=entry.get("more", "").replace("{letter}", letter),
        less=entry.get("less", "").replace("{letter}", letter),
        jump_factor=float(jump_factor) or None,
        jump_step=float(entry["jump_step"]) if "jump_step" in entry else None,
        sign=entry.get("sign", False),
        bands=tuple(Band(band["name"], Span(*band["range"])) for band in entry.get("bands", ())),
    )


def _span(ends: list[float] | None) -> Span | None:
    return None if ends is None else Span(*map(float, ends))


def _fallback(entry: dict[str, Any]) -> Fallback:
    return Fallback(entry["letter"], entry["by"], tuple(entry["beside"]))


def _renaming(entry: dict[str, Any]) -> Renaming:
    return Renaming(tuple(entry["present"]), tuple(entry["absent"]), dict(entry["letters"]), entry["note"])


def _replacement(entry: dict[str, Any]) -> Replacement:
    one, other = (
        ReplacedSide(side["command"], tuple(side["letters"]), tuple(side["marks"]))
        for side in (entry["one"], entry["other"])
    )
    return Replacement(one, other, entry["note"])


def _refuse_unknown(where: str, entry: Mapping[str, object], known: set[str]) -> None:
    unknown = sorted(set(entry) - known)
    if unknown:
        raise BadTable(f"{where}: unknown key {', '.join(unknown)}; known are {', '.join(sorted(known))}")
