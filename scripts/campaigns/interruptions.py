"""Interrupts a hot function test in every way, and looks whether the printer is safe or named as not made safe.

    python3 scripts/campaigns/interruptions.py [--quick] [--seed N]

Each case is a tool at a terminal of its own, a simulated printer, and a run that was led up to its phase: stopped by
Ctrl-C, a told end, a hang-up or the stop key, 1 to 5 times, 0.02 to 1 s apart. Beside this matrix: a terminal that is
closed, closed meanwhile, or stopped by a key; signals without end; and the first moments of the process. After the tool
has ended the printer is looked at over its bench, and the book is read without the tool.

All of it takes about twenty minutes on two cores, --quick (25 cases that cover every pair) about one. Every case has a
limit of its own, and one that does not end is a failure. On POSIX systems.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from scripts.campaigns._shape import Result, main, own_environment

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.interruptions.cases import Case
    from tests.interruptions.struck import Interrupt

    Outcome = tuple[str, list[str], str]
    """The case in words, what was not as it must be, and what became of the printer."""

NAME = "interruptions"
UNMENTIONED = "hot or moving and unmentioned"
AT_ONCE_A_CORE = 8
"""A case mostly waits; more of them at once would make each other late."""
EARLY = 60
LATEST_S = 3.0


def run(*, quick: bool, seed: int) -> Result:
    """Carry out the matrix and what stands beside it, or the cases that cover the matrix's pairs."""
    todo = _matrix(quick=quick, seed=seed)
    todo += [] if quick else [*_others(), *_early(seed)]
    with (
        tempfile.TemporaryDirectory(prefix="interruptions-") as folder,
        ThreadPoolExecutor(AT_ONCE_A_CORE * (os.cpu_count() or 1)) as pool,
    ):
        places = [Path(folder) / str(number) for number in range(len(todo))]
        outcomes = list(pool.map(_tried, todo, places))
    lines = [f"{case}: {'; '.join(found)}" for case, found, _ in outcomes if found]
    lines += [f"{count:4d} x {what}" for what, count in sorted(Counter(what for *_, what in outcomes).items())]
    broken = [found for _, found, _ in outcomes if found]
    unmentioned = sum(any(each.startswith(UNMENTIONED) for each in found) for found in broken)
    lines.append(f"{UNMENTIONED}: {unmentioned}")
    return Result(NAME, len(todo), len(todo) - len(broken), len(broken), seed, tuple(lines))


def _tried(one: Callable[[Path], Outcome], folder: Path) -> Outcome:
    folder.mkdir()
    try:
        return one(folder)
    except AssertionError as failed:
        return str(one), [f"{UNMENTIONED}, as far as is known: {failed}"], "not carried out"


def _matrix(*, quick: bool, seed: int) -> list[Callable[[Path], Outcome]]:
    from tests.interruptions.cases import covering, matrix
    from tests.interruptions.struck import press

    cases = covering(seed) if quick else matrix(seed)
    return [partial(_struck, case, press, case.sentence) for case in cases]


def _others() -> list[Callable[[Path], Outcome]]:
    from tests.interruptions.others import ALL

    return [partial(_struck, case, kind, f"{kind.__name__}, {case.phase}, {case.desk} desk") for case, kind in ALL]


def _struck(case: Case, interrupt: Interrupt, sentence: str, folder: Path) -> Outcome:
    from tests.interruptions.judged import faults, left_on
    from tests.interruptions.others import UNSEEN
    from tests.interruptions.struck import strike

    after = strike(case, folder, interrupt)
    state = "nothing was begun" if case.phase == "dry" else "left on and named" if left_on(after.state) else "safe"
    return sentence, faults(case, after, seen=interrupt not in UNSEEN), f"{case.phase}: {state}"


def _early(seed: int) -> list[Callable[[Path], Outcome]]:
    rng = Random(seed)  # noqa: S311 - repeatable, not secret
    ways = ("SIGINT", "SIGTERM", "SIGHUP")
    return [partial(_begun, rng.choice(ways), rng.randint(1, 3), rng.uniform(0, LATEST_S)) for _ in range(EARLY)]


def _begun(how: str, presses: int, at_s: float, folder: Path) -> Outcome:
    from tests.interruptions.others import early_faults

    found = early_faults(how, presses, at_s, folder)
    return f"{how} x {presses}, {at_s:.2f} s after the start", found, "first moments: nothing was begun"


if __name__ == "__main__":
    own_environment()
    main(run)
