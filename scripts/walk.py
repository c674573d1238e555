"""Go through a commissioning as a new user does, who knows only the screen, and count what that takes.

    .venv/bin/python scripts/walk.py [--only UNIT] [--size 80x24] [--seed 21] [--processes 2] [--screens FOLDER]

Five simulated units are installed at the real desk, each in terminals of three sizes. The command is a process of its
own at a real pseudo-terminal of that size; time is simulated and shared with the printer. The person reads the screen
with a terminal emulator, does what it says at the simulated bench, and types. `scripts/walking/units.py` has what each
person answers, `scripts/walking/person.py` how long everything takes: minutes are those of this made-up person, who
reads every word once. Bounded in time and answers, the same for the same seed.

The table says for each walk: answers typed, pages turned because a question was higher than the terminal, minutes and
how many of them were spent on reading alone, verdict and reason from the last screen, lines cut or wider
than the terminal, questions not wholly visible when they were asked, and lines that ran off the top before they could
be read. Exit code 1 when a walk came to no end, cut a line, or asked what was not to be seen.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from scripts.walking.eyes import Size
from scripts.walking.person import NotUnderstood
from scripts.walking.terminal import Stuck
from scripts.walking.units import HABITS, order
from scripts.walking.walk import TooLong, Walk, walked

SIZES = ("80x24", "60x20", "200x60")
HEAD = ("unit", "size", "answers", "pages", "minutes", "reading", "verdict", "cut", "unseen", "ran off", "why")


def main(arguments: Sequence[str]) -> int:
    """Walk and print the table; the exit code is returned."""
    parser = argparse.ArgumentParser(description="Go through a commissioning as a new user, and count what it takes.")
    parser.add_argument("--only", choices=list(HABITS), help="walk this unit alone")
    parser.add_argument("--size", choices=SIZES, help="in a terminal of this size alone")
    parser.add_argument("--seed", type=int, default=21, help="of the order of prompts")
    parser.add_argument("--processes", type=int, default=2, help="walks at the same time")
    parser.add_argument("--screens", type=Path, metavar="FOLDER", help="write the screens of each walk there")
    asked = parser.parse_args(arguments)
    units = [asked.only] if asked.only else list(HABITS)
    sizes = [asked.size] if asked.size else list(SIZES)
    print(" | ".join(HEAD), flush=True)
    with ThreadPoolExecutor(asked.processes) as side_by_side:
        rows = [(unit, size, asked.seed, asked.screens) for unit in units for size in sizes]
        came = list(side_by_side.map(lambda row: _row(*row), rows))
    return 0 if all(came) else 1


def _row(unit: str, size: str, seed: int, screens: Path | None) -> bool:
    """Walk one and print its row; whether all was well."""
    with tempfile.TemporaryDirectory() as place:
        try:
            walk = walked(order(unit, Size.of(size), seed), Path(place))
        except (NotUnderstood, Stuck, TooLong) as end:
            print(f"{unit} | {size} | came to no end:\n{end}", flush=True)
            return False
    if screens is not None:
        screens.mkdir(parents=True, exist_ok=True)
        (screens / f"{unit}-{size}.txt").write_text(walk.screens, encoding="utf-8")
    print(" | ".join((unit, size, *_cells(walk))), flush=True)
    return not walk.cut and not walk.unseen


def _cells(walk: Walk) -> tuple[str, ...]:
    numbers = (f"{walk.minutes:.0f}", f"{walk.reading_minutes:.0f}")
    flaws = (str(len(walk.cut)), str(len(walk.unseen)), str(walk.unread))
    return (str(walk.answers), str(walk.pages), *numbers, walk.said("Verdict"), *flaws, walk.said("Why"))


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
