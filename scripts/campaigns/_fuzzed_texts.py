"""Damaged texts given to the command and to the simulated printer: captures, operator scripts, unit files."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator

from scripts.campaigns._captures import REPORTS, damaged
from scripts.campaigns._damage import Bench, chance_of, damaged_by_chance
from scripts.campaigns._tool import ROOT, Ended

SCRIPT_KEYS = {"request", "answer", "run", "after_s", "timeout_s", "times"}
UNIT_S = 30.0
SWITCHES = """\
FIRMWARE_NAME:OwnFW 104.2 (Jan  3 2031) SOURCE_CODE_URL:own PROTOCOL_VERSION:1.0 MACHINE_TYPE:Bench EXTRUDER_COUNT:1
Cap:EEPROM:1
Cap:AUTOREPORT_TEMP:1
ok
Reporting endstop status
x_min: open
y_min: TRIGGERED
z_min: open
filament: TRIGGERED
ok
 T:21.50 /0.00 B:21.40 /0.00 @:0 B@:0
echo:busy: processing
Filament runout ON ; distance 20.00
ok
"""
UNIT = """\
format = 1
like = "sound"
summary = "a unit of this campaign"
finding = "direct"

[board.input]
absent_level = "high"

[wire]
reset_on_open = false
speed_baud = 115200

[firmware.settings.M412]
S = 1
D = 12.5
"""
UNIT_TABLES = {"format", "like", "summary", "finding", "board", "wire", "firmware", "plant", "stored", "disturbances"}
UNIT_TABLES |= {"checks", "second", "memory", "filament", "name", "family", "supply"}


def capture(bench: Bench, seed: str) -> tuple[int, str]:
    """A damaged capture, read: the exit code, and what was wrong with it; empty for nothing."""
    chance = chance_of(seed)
    data = (
        damaged(seed)
        if chance.random() < 0.4
        else damaged_by_chance((SWITCHES + chance.choice(REPORTS)).encode(), chance)
    )
    (bench.folder / "fuzzed.txt").write_bytes(data)
    ended = bench.tool.run("read", "fuzzed.txt", "--json", folder=bench.folder, seconds=30)
    if ended.crashed or ended.code not in (0, 2):
        return ended.code, ended.told
    if ended.code == 2:
        return 2, ""
    return 0, "; ".join(read_wrongly(json.loads(ended.out), data))


def read_wrongly(told: dict[str, list[dict[str, object]]], data: bytes) -> Iterator[str]:
    """What is reported and does not stand in the file; a byte that does not print stands there by its number.

    A printer ends its lines with a line feed, alone or behind a carriage return. A file in which carriage returns alone
    end them is read too, so that a line is whatever lies between two of either, or between two line feeds.
    """
    lines = [_printed(line) for line in (*re.split(rb"[\r\n]", data), *data.split(b"\n"))]
    for switch in told["switches"]:
        name, word = str(switch["name"]), str(switch["wire_word"])
        named = (
            rf"(?:{re.escape(name)}|^)" if name == "filament" else re.escape(name)
        )  # a line without a name is its own
        written = re.compile(named + r"\s*:?\s*" + re.escape(word))
        if not any(written.search(line) for line in lines):
            yield f"a switch {name!r} that reads {word!r} stands in no line"
        expected = {"TRIGGERED": "active", "OPEN": "inactive"}.get(word.upper())
        if expected is not None and switch["reading"] not in (expected, "unknown"):
            yield f"the switch {name!r} with {word!r} is said to be {switch['reading']}"
    for setting in told["settings"]:
        values = setting["values"]
        numbers = values.items() if isinstance(values, dict) else ()
        if not any(_has_all(line, str(setting["command"]), dict(numbers)) for line in lines):
            yield f"{setting['command']} with {values} stands in no line"


def _printed(line: bytes) -> str:
    r"""The line in printable ASCII, all that a printer's line may show: any other byte by its number, as in `\xae`."""
    return "".join(chr(byte) if 0x20 <= byte <= 0x7E else f"\\x{byte:02x}" for byte in line)


def _has_all(line: str, command: str, values: dict[str, float]) -> bool:
    found = {(letter.upper(), _number(text)) for letter, text in re.findall(r"([A-Za-z])\s*([-+]?[\d.]+)", line)}
    return command in line.upper() and all((letter, float(value)) in found for letter, value in values.items())


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def script(bench: Bench, seed: str) -> tuple[int, str]:
    """An operator script, damaged, with no printer behind the port."""
    chance = chance_of(seed)
    whole = (ROOT / "commission" / "cli" / "demo_operator.toml").read_bytes()
    data = damaged_by_chance(whole[: chance.randrange(200, len(whole))] if chance.random() < 0.5 else whole, chance)
    (bench.folder / "fuzzed.toml").write_bytes(data)
    words = ["install", "bench-9", "--port", "socket://127.0.0.1:9", "--operator", "fuzzed.toml", "--by", "R. Okafor"]
    words += ["--set", "control=none", "--cycles", "6", "--book", "other.sqlite3", "--reports", "reports"]
    ended = bench.tool.run(*words, folder=bench.folder, seconds=30)
    if ended.crashed:
        return ended.code, ended.told
    wrong = no_script(data)
    return ended.code, f"accepted, though {wrong}: {ended.told}" if wrong and ended.code != 2 else ""


def no_script(data: bytes) -> str:
    """Why this is no operator script, by its published description; empty where it may be one."""
    table, wrong = _toml(data)
    if wrong:
        return wrong
    if table.get("format") != 1 or isinstance(table.get("format"), bool):
        return "its format is not 1"
    if more := set(table) - {"format", "answer"}:
        return f"it has {sorted(more)}"
    answers = table.get("answer", [])
    return next(filter(None, map(_no_answer, answers if isinstance(answers, list) else [answers])), "")


def _no_answer(answer: object) -> str:
    if not isinstance(answer, dict):
        return "an answer is no table"
    if more := set(answer) - SCRIPT_KEYS:
        return f"an answer has {sorted(more)}"
    return "" if {"request", "answer"} <= set(answer) else "an answer lacks a key"


def _toml(data: bytes) -> tuple[dict[str, object], str]:
    try:
        return tomllib.loads(data.decode("utf-8")), ""
    except (ValueError, RecursionError) as trouble:
        return {}, f"it is no TOML: {trouble}"


def unit(bench: Bench, seed: str) -> tuple[int, str]:
    """A unit file, damaged, for the simulated printer."""
    data = damaged_by_chance(UNIT.encode(), chance_of(seed))
    file = bench.folder / "fuzzed-unit.toml"
    file.write_bytes(data)
    words = [sys.executable, "-m", "fake_printer", str(file), "--tcp", "0", "--stop-with-stdin"]
    try:
        done = subprocess.run(
            words,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            errors="replace",
            check=False,
            timeout=UNIT_S,
            cwd=bench.folder,
            env=os.environ | {"PYTHONPATH": str(ROOT)},
        )
    except subprocess.TimeoutExpired:
        return -9, f"no end after {UNIT_S:g} s"
    ended = Ended(done.returncode, done.stdout, done.stderr)
    if ended.crashed or ended.code not in (0, 2):
        return ended.code, ended.told
    table, wrong = _toml(data)
    if more := set(table) - UNIT_TABLES:
        wrong = f"it has {sorted(more)}"
    if ended.code == 2 and not ended.complaints.strip():
        return 2, "refused without a word"
    return ended.code, f"accepted, though {wrong}" if wrong and ended.code == 0 else ""
