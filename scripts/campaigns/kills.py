"""Nothing that was acknowledged is lost when the tool is killed, and the next run goes on.

    python3 scripts/campaigns/kills.py [--quick] [--seed N] [--only WORDS]

Each case starts a run on a simulated printer, with the demonstration's script for an operator, and kills its process by
SIGKILL at a moment that chance has chosen. Meanwhile and afterwards the book is read with sqlite3 alone. Held means:

- every entry that was once seen in the book, and every finding that stood on the screen, is in it after the kill;
- the chain of the book holds, worked out here with hashlib, and `commission book verify` says the same;
- no run has more ends than beginnings;
- the same command, called again once the bench is put in order, comes to its own end within its limit: a run is
  complete in the book after it, nothing of what was there is gone, and the chain holds.

Counts: 300 kills of install, check and backup in turn; --quick 8. A power cut is not tried: a killed process leaves
what it wrote to the system.
"""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from scripts.campaigns._shape import Result, again, main, own_environment

own_environment()

from scripts.campaigns._book import chain_breaks, rows_of, told_in  # noqa: E402 - once the environment is there
from scripts.campaigns._tool import ROOT, Tool, Tools  # noqa: E402
from tests.support.fake_process import running_printer  # noqa: E402

if TYPE_CHECKING:
    from scripts.campaigns._book import Row
    from tests.support.fake_process import FakeProcess

NAME = "kills"
CASES, QUICK_CASES = 300, 8
AT_ONCE = 6
"""A case mostly waits for hands, countdowns and readings."""
LATEST_S = {"install": 22.0, "check": 12.0, "backup": 1.2}
"""The kill comes by then, counted from the first sight of the book; a run is not over much earlier."""
BEGINS_WITHIN_S = 60.0
LIMIT_S = 150.0
LOOKS_EVERY_S = 0.05
OWN_ENDS = {0, 1, 4}
HURRY = ("--countdown", "1.2", "--dwell", "0.2", "--wiggle", "2", "--seed", "1")
WORDS = {"install": (*HURRY, "--cycles", "6"), "check": (*HURRY, "--steady", "1"), "backup": ()}
ALSO = """\
format = 1

[[answer]]
request = "steady"
answer = "done"

[[answer]]
request = "series.since"
answer = "changed"

[[answer]]
request = "series.what"
answer = "The bench was put in order after a run was killed."
"""
"""What the demonstration's script has no answer to: it shows no check, and nothing of it was broken off before."""
IN_ORDER = (("usb", "in"), ("mains", "on"), ("plug",), ("insert",))


@dataclass
class Seen:
    """What was seen of a run before it was killed.

    Attributes:
        rows: each entry that stood in the book, by its number.
        changed: what was seen twice and not the same.
        screen: all that was printed.
        alive: whether the run was still under way when it was killed.
    """

    rows: dict[object, Row] = field(default_factory=dict)
    changed: list[str] = field(default_factory=list)
    screen: str = ""
    alive: bool = False

    def look(self, book: Path) -> None:
        """Take in what stands in the book now."""
        if not book.exists():
            return
        for row in rows_of(book):
            if self.rows.setdefault(row[0], row) != row:
                self.changed.append(f"entry {row[0]} changed while it ran")


def run(*, quick: bool, seed: int, only: str = "", cases: int = 0) -> Result:
    """Kill runs.

    Args:
        quick: few of them.
        seed: of the moments; what the run does at that moment is the machine's affair.
        only: words in the name of the cases to try; all of them when empty.
        cases: so many instead.
    """
    names = [_name(number, seed) for number in range(cases or (QUICK_CASES if quick else CASES))]
    chosen = [name for name in names if only in name]
    with tempfile.TemporaryDirectory(prefix="kills-") as folder, Tools(min(AT_ONCE, len(chosen) or 1)) as tools:

        def one(name: str) -> tuple[str, list[str]]:
            with tools.one() as tool:
                return _tried(name, Path(folder) / name.replace(" ", "-"), tool)

        with ThreadPoolExecutor(AT_ONCE) as pool:
            came = list(pool.map(one, chosen))
    broken = [
        f"BROKEN: {name}: {'; '.join(why)}; {again(NAME, quick=quick, seed=seed, case=name)}"
        for name, (_, why) in zip(chosen, came, strict=True)
        if why
    ]
    states = Counter(state for state, _ in came)
    table = [f"{count} x {state}" for state, count in sorted(states.items())]
    return Result(NAME, len(chosen), len(chosen) - len(broken), len(broken), seed, (*table, *broken))


def _name(number: int, seed: int) -> str:
    chance = Random(f"kills/{seed}/{number}")  # noqa: S311 - repeatable on purpose
    command = ("install", "backup", "check", "backup")[number % 4]
    return f"kill {number:03d} {command} {chance.uniform(0, LATEST_S[command]):.3f} s"


def _tried(name: str, folder: Path, tool: Tool) -> tuple[str, list[str]]:
    """In which state it was killed, and everything that was not as it must be."""
    _, _, command, moment_s, _ = name.split(" ")
    folder.mkdir()
    book = folder / "book.sqlite3"
    script = (ROOT / "commission" / "cli" / "demo_operator.toml").read_text()
    (folder / "operator.toml").write_text(script.replace("format = 1\n", ALSO, 1))
    with running_printer("sound", "--tcp", "0", "--unpaced") as printer:
        words = _words(command, printer)
        seen = _killed(words, folder, float(moment_s))
        seen_again = list(_lost(seen, book))
        why = [*seen.changed, *seen_again, *_not_whole(book, tool)]
        for deed in IN_ORDER:
            printer.do(*deed)
        before = dict(seen.rows)
        ended = tool.run(*words, folder=folder, seconds=LIMIT_S)
    why += [f"the next run: {ended.told}"] if ended.crashed or ended.code not in OWN_ENDS else []
    why += [f"after the next run {each}" for each in (*_lost(Seen(before), book), *_not_whole(book, tool))]
    why += _not_gone_on(book)
    state = "killed at work" if seen.alive else "over before the kill"
    kinds = "no entry" if not before else "some entries"
    return f"{command}: {state}, {kinds}", why


def _words(command: str, printer: FakeProcess) -> list[str]:
    words = [command, "bench-3", "--port", printer.link, "--operator", "operator.toml"]
    words += ["--set", f"control={printer.control}"]
    return [*words, "--by", "R. Okafor", "--book", "book.sqlite3", "--reports", "reports", *WORDS[command]]


def _killed(words: list[str], folder: Path, moment_s: float) -> Seen:
    seen, book = Seen(), folder / "book.sqlite3"
    with (folder / "screen.txt").open("wb") as screen:
        kill_at_s = time.monotonic() + BEGINS_WITHIN_S
        process = subprocess.Popen(
            [sys.executable, "-u", "-m", "commission", *words],
            cwd=folder,
            env=os.environ | {"PYTHONPATH": str(ROOT)},
            stdin=subprocess.DEVNULL,
            stdout=screen,
            stderr=subprocess.STDOUT,
        )
        try:
            while process.poll() is None and not book.exists() and time.monotonic() < kill_at_s:
                time.sleep(0.005)
            kill_at_s = time.monotonic() + moment_s
            while (left_s := kill_at_s - time.monotonic()) > 0 and process.poll() is None:
                time.sleep(min(LOOKS_EVERY_S, left_s))
                seen.look(book)
        finally:
            seen.alive = process.poll() is None
            process.kill()
            process.wait()
    seen.screen = (folder / "screen.txt").read_text(errors="replace")
    return seen


def _lost(seen: Seen, book: Path) -> Iterator[str]:
    """What was acknowledged and is not in the book."""
    now = {row[0]: row for row in rows_of(book)} if book.exists() else {}
    for number, row in seen.rows.items():
        if now.get(number) != row:
            yield f"entry {number} ({row[2]}) was in the book and is {'changed' if number in now else 'gone'}"
    kept = {said for row in now.values() if row[2] in ("finding", "punch") for said in _texts(json.loads(str(row[5])))}
    for line in seen.screen.splitlines()[:-1]:  # the last one may have been cut by the kill
        _, found, sentence = line.partition("Finding: ")
        if found and sentence not in kept:
            yield f"a finding stood on the screen and is not in the book: {sentence!r}"


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for each in value.values():
            yield from _texts(each)
    elif isinstance(value, list):
        for each in value:
            yield from _texts(each)


def _not_whole(book: Path, tool: Tool) -> Iterator[str]:
    if not book.exists():
        return
    try:
        rows = rows_of(book)
    except sqlite3.Error as trouble:
        yield f"the book cannot be read: {trouble}"
        return
    if breaks := chain_breaks(rows):
        yield f"the chain is broken at {breaks[:5]}"
    ends = Counter(row[1] for row in rows if row[2] == "run_ended")
    begun = Counter(row[1] for row in rows if row[2] in ("run_started", "run_resumed"))
    yield from (f"run {number} has {count} ends" for number, count in ends.items() if count > begun[number])
    said = tool.run("book", "verify", "--book", book, folder=book.parent)
    if said.code != 0:
        yield f"verify: {said.told}"


def _not_gone_on(book: Path) -> list[str]:
    if not book.exists():
        return ["the next run left no book"]
    ends = [told_in(str(row[5])) for row in rows_of(book) if row[2] == "run_ended"]
    complete = any(end.get("outcome") == "complete" for end in ends)
    return [] if complete else [f"no run is complete in the book: {[end.get('outcome') for end in ends]}"]


if __name__ == "__main__":
    main(run)
