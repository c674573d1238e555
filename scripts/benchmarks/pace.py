"""Minutes that a simulated person spends on the prompts of a loop check, beside a fixed countdown and a dwell of 2 s.

Usage: python scripts/benchmarks/pace.py

The hands and the plans are those of `scripts/simulate_pace.py`; no time passes while they are played.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from scripts.benchmarks._figures import QUICK, Figure, Size
from scripts.pace.hands import Somebody, hands
from scripts.pace.plans import PLANS

FIXED, OWN = "fixed 5 s, dwell 2 s", "own pace, dwell 1.2 s"


def figures(size: Size) -> Iterator[Figure]:
    """Of a person who keeps up, with no slip and with one in a hundred; and the cycles of a pass."""
    for slips in (0.0, 0.01):
        who = Somebody(slips, keeps_up=True)
        fixed, own = (hands(name, who, size.hands, 1) for name in (FIXED, OWN))
        told = f"minutes of {PLANS[OWN].cycles} cycles, {100 * slips:g} % slips"
        yield Figure(told, own.minutes, "min", "a fixed countdown and 2 s", fixed.minutes)


if __name__ == "__main__":
    for each in figures(QUICK):
        print(f"{each.what}: {each.value:.2f} {each.unit}, {each.ratio:.2f} of {each.baseline}")
