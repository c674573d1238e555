"""Nothing that is damaged is taken for whole: captures, operator scripts, unit files, books and exports.

    python3 scripts/campaigns/fuzz.py [--quick] [--seed N] [--only WORDS]

Each case damages one file by chance and gives it to the real command. Held means that the command ends with an exit
code of the manual, without a traceback, in its time, and that nothing is accepted wrongly:

- capture, by `read --json`: every switch that is reported stands in one line of the file with its word behind it, and
  every settings value in one line with its command;
- script, by `install --operator` with no printer behind the port: what is no TOML, has another format, a key that the
  description does not have, or an answer without its two keys is refused with 2;
- unit, by the simulated printer itself: what is no TOML or has a table that no unit has is refused with 2;
- book, by `book list`, `book verify` and `report`: a file that is no whole database is no pass of verify, and no file
  is changed by looking at it;
- export, by `book import` into a new book: what is not the same chain of entries, worked out here with hashlib, is
  refused and leaves no entry behind; what is whole goes in with every entry.

Counts: 4000 captures, 1000 scripts, 200 units, 400 books, 1000 exports; --quick 120, 60, 12, 30 and 60.
"""

from __future__ import annotations

import base64
import hashlib
import json
import os
import re
import sqlite3
import subprocess
import sys
import tempfile
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator
from functools import cached_property
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from scripts.campaigns._shape import Result, again, main, own_environment

own_environment()

from scripts.campaigns._book import COLUMNS, Row, chain_breaks, rows_of  # noqa: E402 - once the environment is there
from scripts.campaigns._captures import REPORTS, damaged  # noqa: E402
from scripts.campaigns._real_book import make_book  # noqa: E402
from scripts.campaigns._tool import ROOT, Ended, Tool, Tools  # noqa: E402

NAME = "fuzz"
COUNTS = {"capture": (120, 4000), "script": (60, 1000), "unit": (12, 200), "book": (30, 400), "export": (60, 1000)}
SCRIPT_KEYS = {"request", "answer", "run", "after_s", "timeout_s", "times"}
UNIT_S = 30.0
SWITCHES = """\
FIRMWARE_NAME:OwnFW 4.2 (Jan  3 2031) SOURCE_CODE_URL:own PROTOCOL_VERSION:1.0 MACHINE_TYPE:Bench EXTRUDER_COUNT:1
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
PIECES = (
    *(b"\x00", b"\xff\xfe", b"[[", b"]]", b"=", b'"', b"'''", b"1e999", b"nan", b"-", b"{", b"\n\n", b"\r", b"\\u0000"),
    *("\u202e".encode(), b"9" * 400, b"[" * 200, b"true", b"#", b"\xed\xa0\x80", b"\\ud800", b"null", b"0x1F", b"."),
)


class Bench:
    """What every case is carried out with."""

    def __init__(self, tool: Tool, folder: Path) -> None:
        self.tool = tool
        self.folder = folder

    @cached_property
    def book(self) -> Path:
        """A sound record book, made when it is first asked for."""
        return make_book(self.folder, self.tool)

    @cached_property
    def export(self) -> bytes:
        """That book as it is exported."""
        return self.tool.run("book", "export", "-", "--book", self.book, folder=self.folder).out.encode()


def run(*, quick: bool, seed: int, only: str = "") -> Result:
    """Damage files.

    Args:
        quick: few of each kind.
        seed: where chance begins.
        only: words in the name of the cases to try; all of them when empty.
    """
    counts: dict[str, Counter[str]] = {}
    broken: list[str] = []
    with tempfile.TemporaryDirectory(prefix="fuzz-") as folder, Tools(1) as tools, tools.one() as tool:
        bench = Bench(tool, Path(folder))
        for kind, sizes in COUNTS.items():
            for number in range(sizes[0] if quick else sizes[1]):
                name = f"{kind} {number:04d}"
                if only not in name:
                    continue
                ended, why = _KINDS[kind](bench, f"fuzz/{seed}/{name}")
                counts.setdefault(kind, Counter())[f"ended with {ended}"] += 1
                if why:
                    broken.append(f"BROKEN: {name}: {why}; {again(NAME, quick=quick, seed=seed, case=name)}")
    tried = sum(sum(each.values()) for each in counts.values())
    table = [
        f"{kind}: " + ", ".join(f"{n} {what}" for what, n in sorted(each.items())) for kind, each in counts.items()
    ]
    return Result(NAME, tried, tried - len(broken), len(broken), seed, (*table, *broken))


def _damaged(data: bytes, chance: Random) -> bytes:
    """The data with one to four damages; now and then untouched."""
    for _ in range(chance.choice((0, 1, 1, 1, 2, 3, 4))):
        one, other = sorted((chance.randrange(len(data) + 1), chance.randrange(len(data) + 1)))
        other = min(other, one + chance.choice((1, 1, 3, 20, 200)))
        data = chance.choice(
            (
                data[:one] + data[other:],
                data[:one] + data[one:other] * 2 + data[other:],
                data[:one] + chance.choice(PIECES) + data[one:],
                data[:one] + chance.choice(PIECES) + data[other:],
                data[:one] + bytes(chance.randrange(256) for _ in range(other - one)) + data[other:],
                data[:one] + bytes(each ^ 1 for each in data[one : one + 1]) + data[one + 1 :],
                data[:one] if chance.random() < 0.3 else data,
                _lines_moved(data, chance),
            )
        )
    return data


def _lines_moved(data: bytes, chance: Random) -> bytes:
    lines = data.split(b"\n")
    line = lines.pop(chance.randrange(len(lines)))
    if chance.random() < 0.7:
        lines.insert(chance.randrange(len(lines) + 1), line)
    return b"\n".join(lines)


def _chance(seed: str) -> Random:
    return Random(seed)  # noqa: S311 - repeatable on purpose


def _capture(bench: Bench, seed: str) -> tuple[int, str]:
    chance = _chance(seed)
    data = damaged(seed) if chance.random() < 0.4 else _damaged((SWITCHES + chance.choice(REPORTS)).encode(), chance)
    (bench.folder / "fuzzed.txt").write_bytes(data)
    ended = bench.tool.run("read", "fuzzed.txt", "--json", folder=bench.folder, seconds=30)
    if ended.crashed or ended.code not in (0, 2):
        return ended.code, ended.told
    if ended.code == 2:
        return 2, ""
    return 0, "; ".join(_read_wrongly(json.loads(ended.out), data))


def _read_wrongly(told: dict[str, list[dict[str, object]]], data: bytes) -> Iterator[str]:
    """What is reported and does not stand in the file; what does not print is left out of the comparison."""
    shown = "".join(each for each in data.decode("utf-8", "replace") if each.isprintable() or each in "\r\n")
    lines = re.split(r"[\r\n]", shown)
    for switch in told["switches"]:
        name, word = str(switch["name"]), str(switch["wire_word"])
        written = re.compile(re.escape(name) + r"\s*:?\s*" + re.escape(word))
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


def _has_all(line: str, command: str, values: dict[str, float]) -> bool:
    found = {(letter.upper(), _number(text)) for letter, text in re.findall(r"([A-Za-z])\s*([-+]?[\d.]+)", line)}
    return command in line.upper() and all((letter, float(value)) in found for letter, value in values.items())


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def _script(bench: Bench, seed: str) -> tuple[int, str]:
    chance = _chance(seed)
    whole = (ROOT / "commission" / "cli" / "demo_operator.toml").read_bytes()
    data = _damaged(whole[: chance.randrange(200, len(whole))] if chance.random() < 0.5 else whole, chance)
    (bench.folder / "fuzzed.toml").write_bytes(data)
    words = ["install", "bench-9", "--port", "socket://127.0.0.1:9", "--operator", "fuzzed.toml", "--by", "R. Okafor"]
    words += ["--set", "control=none", "--cycles", "6", "--book", "other.sqlite3", "--reports", "reports"]
    ended = bench.tool.run(*words, folder=bench.folder, seconds=30)
    if ended.crashed:
        return ended.code, ended.told
    wrong = _no_script(data)
    return ended.code, f"accepted, though {wrong}: {ended.told}" if wrong and ended.code != 2 else ""


def _no_script(data: bytes) -> str:
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


def _unit(bench: Bench, seed: str) -> tuple[int, str]:
    data = _damaged(UNIT.encode(), _chance(seed))
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


def _book(bench: Bench, seed: str) -> tuple[int, str]:
    chance = _chance(seed)
    whole = bench.book.read_bytes()
    data = chance.choice(
        (
            b"",
            chance.randbytes(chance.choice((1, 15, 16, 100, 5000))),
            whole[: chance.choice((16, 99, 100, 4096, len(whole) // 2))],
            whole[:100] + chance.randbytes(4000),
            b"SQLite format 3\x00" + chance.randbytes(8000),
            _damaged(whole, chance),
            bench.export,
        )
    )
    place = bench.folder / "fuzzed.sqlite3"
    for each in bench.folder.glob("fuzzed.sqlite3*"):
        if each.is_file():
            each.unlink()
    place.write_bytes(data)
    reads = _reads(data, bench.folder / "judged.sqlite3")
    told = [bench.tool.run(*words, "--book", place.name, folder=bench.folder, seconds=60) for words in _LOOKS]
    why = [f"{words[-1]}: {each.told}" for words, each in zip(_LOOKS, told, strict=True) if each.crashed]
    if told[0].code == 0 and not reads:
        why.append("verify passes what cannot be read")
    if hashlib.sha256(place.read_bytes()).digest() != hashlib.sha256(data).digest():
        why.append("looking at it has changed it")
    return told[0].code, "; ".join(why)


_LOOKS = (("book", "verify"), ("book", "list"), ("report", "bench-3", "--out", "fuzzed-reports"))


def _reads(data: bytes, place: Path) -> bool:
    """Whether this is a database with entries in it."""
    place.write_bytes(data)
    try:
        return bool(rows_of(place))
    except (sqlite3.Error, UnicodeError, OverflowError):
        return False
    finally:
        for each in place.parent.glob(f"{place.name}*"):
            each.unlink()


def _export(bench: Bench, seed: str) -> tuple[int, str]:
    data = _damaged(bench.export, _chance(seed))
    (bench.folder / "fuzzed.jsonl").write_bytes(data)
    into = bench.folder / "imported.sqlite3"
    for each in bench.folder.glob("imported.sqlite3*"):
        if each.is_file():
            each.unlink()
    ended = bench.tool.run("book", "import", "fuzzed.jsonl", "--book", into.name, folder=bench.folder, seconds=60)
    entries = len(rows_of(into)) if into.exists() else 0
    if ended.crashed or ended.code not in (0, 2):
        return ended.code, ended.told
    whole = _whole_entries(data)
    if ended.code == 2:
        return 2, f"refused, and {entries} entries are in the book" if entries else ""
    return 0, "" if whole == entries else f"{entries} entries accepted, of which {whole} make a chain"


def _whole_entries(data: bytes) -> int:
    """How many entries the export has, if they are a chain that ends as its last line says; else -1."""
    try:
        _, *lines, end = [json.loads(line) for line in data.split(b"\n") if line.strip()]
        rows = [_row_of(line) for line in lines]
        broken = chain_breaks(rows) or end != {"entries": len(rows), "head": rows[-1][8]}
    except (ValueError, KeyError, TypeError, IndexError, RecursionError):
        return -1
    return -1 if broken else len(rows)


def _row_of(line: dict[str, object]) -> Row:
    raw = None if line["raw"] is None else base64.b64decode(str(line["raw"]))
    return tuple(raw if column == "raw" else line[column] for column in COLUMNS)


_KINDS: dict[str, Callable[[Bench, str], tuple[int, str]]] = {
    "capture": _capture,
    "script": _script,
    "unit": _unit,
    "book": _book,
    "export": _export,
}


if __name__ == "__main__":
    main(run)
