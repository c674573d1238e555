"""No pass rests on readings that were not there: every watch and the trials, with a part of their answers damaged.

Each case is a whole check through the real procedures, on a bench in memory or on the simulated printer, in which the
answers to one watch, or to the trials, are damaged by a pattern. The rule is held by this file's own arithmetic on what
stands in the book: a part that passes was read as long as was planned, with known readings at most half a second apart,
or had 19 of 21 readings in every trial that counts. And no case ends in a traceback.

    python3 scripts/campaigns/unread.py --quick
"""

from __future__ import annotations

import asyncio
import json
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from scripts.campaigns._shape import Result, main, own_environment

own_environment()

from tests.support.unread_bench import (  # noqa: E402 - only there once the environment has all that it takes
    MISSING,
    PARTS,
    RENAMED,
    Known,
    UnreadBench,
    UnreadPrinter,
    patterns,
)

NAME = "unread"
PASSES = ("pass", "conditional pass")
SHARES = (0.02, 0.1, 0.35, 0.65)
"""Shares of the answers that are damaged by chance, beside the fixed patterns."""
SEEDS = 2
GAP_S, ROUNDING_S = 0.5, 0.001
UNIT = "sound"


@dataclass(frozen=True)
class Case:
    """One check with one part of it damaged by one pattern."""

    part: str
    pattern: str
    known: Known
    damaged: bytes | None
    """What comes instead of an answer in memory; None for the simulated printer, whose wire changes a letter."""

    @property
    def name(self) -> str:
        """What to call it."""
        where = {MISSING: "line missing", RENAMED: "name damaged", None: "simulated printer"}[self.damaged]
        return f"{self.part}; {self.pattern}; {where}"


def run(*, quick: bool, seed: int) -> Result:
    """Carry out all cases.

    Args:
        quick: only the fixed patterns with the line missing, once.
        seed: where chance begins.
    """
    cases = list(_cases(quick=quick, seed=seed))
    broken: list[str] = []
    came_to: dict[tuple[str, str], Counter[str]] = {}
    for case in cases:
        with tempfile.TemporaryDirectory() as folder:
            verdict, why = asyncio.run(_carried_out(case, Path(folder)))
        came_to.setdefault((case.part, case.pattern), Counter())[verdict] += 1
        broken += [f"BROKEN: {case.name}: {why}"] if why else []
    table = [f"{part:28} {pattern:36} {_said(counts)}" for (part, pattern), counts in came_to.items()]
    return Result(NAME, len(cases), len(cases) - len(broken), len(broken), seed, (*table, *broken))


def _said(counts: Counter[str]) -> str:
    return ", ".join(f"{verdict} {count}" for verdict, count in counts.most_common())


def _cases(*, quick: bool, seed: int) -> Iterator[Case]:
    for part in PARTS:
        for each in range(seed, seed + (1 if quick else SEEDS)):
            for pattern, known in _patterns(each, quick=quick).items():
                yield Case(part, pattern, known, MISSING)
                if not quick:
                    yield Case(part, pattern, known, RENAMED)
                    yield Case(part, pattern, known, None)


def _patterns(seed: int, *, quick: bool) -> Mapping[str, Known]:
    fixed = dict(patterns(seed))
    return fixed if quick else fixed | {f"{share:.0%} unread, by chance": _by_chance(seed, share) for share in SHARES}


def _by_chance(seed: int, share: float) -> Known:
    chance = Random(f"{seed}/{share}")  # noqa: S311 - repeatable, not secret
    unread = [chance.random() < share for _ in range(5000)]
    return lambda number: not unread[number % 5000]


async def _carried_out(case: Case, folder: Path) -> tuple[str, str]:
    """The verdict on the part, and what is wrong with it; empty where the rule held."""
    part = PARTS[case.part]
    if case.damaged is None:
        bench: UnreadBench | UnreadPrinter = UnreadPrinter(folder, UNIT, part, case.known)
    else:
        bench = UnreadBench(folder, part, case.known, case.damaged)
    try:
        await bench.check()
    except Exception as error:  # noqa: BLE001 - a traceback is what is looked for
        return "traceback", f"it ended in {type(error).__name__}: {error}"
    finally:
        await asyncio.sleep(0)
    found = bench.criteria
    lacking = "; ".join(_lacking(bench, part.keys))
    passed = [name for name in ("part", "whole") if found[name] in PASSES]
    bench.book.close()
    return found["part"], f"{' and '.join(passed)} passed, but {lacking}" if passed and lacking else ""


def _lacking(bench: UnreadBench | UnreadPrinter, keys: tuple[str, ...]) -> Iterator[str]:
    """What the readings in the book do not support, worked out here from the entries alone."""
    if "trial." in keys:
        yield from _lacking_trials(_entries(bench, "trial"))
        return
    kind = "moves" if "moving" in keys else "watch"
    mine = [e for e in _entries(bench, kind) if e["key"].startswith(keys) and ".before" not in e["key"]]
    if not mine:
        yield "it was never watched"
    newest = {entry["key"]: entry for entry in mine}  # one that could not be read is done again
    for entry in newest.values():
        planned_s = float(entry.get("seconds", 60.0))  # the moving watch is as long as the wiggle by hand
        watched_s = _watched_s(readings_in(entry["readings"]))
        if watched_s < planned_s - ROUNDING_S:
            yield f"only {watched_s:.2f} s of {planned_s:g} s of {entry['key']} were read"


def _entries(bench: UnreadBench | UnreadPrinter, kind: str) -> list[dict[str, Any]]:
    """The entries of one kind as they stand in the book, read past the tool's own types."""
    return [json.loads(row.payload)["entry"] for row in bench.book.rows(None, kind)]


def readings_in(written: Any) -> list[list[Any]]:
    """Seconds, reading and word of each, from the readings of an entry in either form a book has.

    One by one they are the rows themselves. Else the times stand as steps of a tenth of a millisecond, each after the
    one before, and the others as [reading, word, how many in a row].

    Raises:
        ValueError: they are in no such form, or there are not as many times as readings.
    """
    if isinstance(written, list):
        return written
    if not isinstance(written, dict) or set(written) != {"steps_100us", "alike"}:
        raise ValueError(f"readings in a form that is not known: {written!r:.80}")
    words = [[reading, word] for reading, word, count in written["alike"] for _ in range(count)]
    ticks, rows = 0, []
    for step, of in zip(written["steps_100us"], words, strict=True):
        ticks += step
        rows.append([ticks / 10_000, *of])
    return rows


def _watched_s(rows: list[list[Any]]) -> float:
    total_s, last_s = 0.0, None
    for at_s, reading, _ in rows:
        if reading == "unknown":
            continue
        if last_s is not None and at_s - last_s <= GAP_S + ROUNDING_S:
            total_s += at_s - last_s
        last_s = at_s
    return total_s


def _lacking_trials(trials: list[dict[str, Any]]) -> Iterator[str]:
    """At least six trials of each kind had 19 of 21 readings, which is the least that any plan takes."""
    for presence in ("in", "out"):
        moved = [trial for trial in trials if trial["presence"] == presence and trial["instruction"] != "leave it"]
        read = sum(sum(row[1] != "unknown" for row in readings_in(trial["dwell"])) >= 19 for trial in moved)
        if read < 6:
            yield f"only {read} trials with filament {presence} could be read"


if __name__ == "__main__":
    main(run)
