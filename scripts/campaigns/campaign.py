"""The shape every campaign has: a seeded, bounded search for one kind of failure, and one figure at its end.

A campaign is a module beside this one with a function `run(*, quick, seed) -> Result`, started by

    python3 scripts/campaigns/NAME.py [--quick] [--seed N]

The exit code is 0 when nothing broke and all was tried, else 1.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Result:
    """What came of a campaign.

    Attributes:
        name: what must never happen, as the figure is called.
        tried: how many cases were carried out.
        held: how many of them were as they must be in every respect.
        broken: how often what must never happen happened: the figure, which must be 0.
        seed: from which all of it can be done again.
        lines: what else a reader wants to know, a case that was not as it must be on a line of its own.
    """

    name: str
    tried: int
    held: int
    broken: int
    seed: int
    lines: tuple[str, ...] = ()

    @property
    def good(self) -> bool:
        """Whether all of it was as it must be."""
        return self.broken == 0 and self.held == self.tried > 0

    @property
    def figure(self) -> str:
        """It in one line."""
        return f"{self.name}: {self.broken} of {self.tried} (seed {self.seed}); all as it must be in {self.held}"


class Campaign(Protocol):
    """The function a campaign's module has."""

    def __call__(self, *, quick: bool, seed: int) -> Result:
        """Carry it out."""
        ...


def start(run: Campaign, description: str) -> int:
    """Read the command line, carry the campaign out, print what came of it; returns the exit code."""
    parser = argparse.ArgumentParser(description=description)
    parser.add_argument("--quick", action="store_true", help="fewer cases, which still cover every pair of levels")
    parser.add_argument("--seed", type=int, default=1, help="where chance begins (default 1)")
    options = parser.parse_args()
    result = run(quick=options.quick, seed=options.seed)
    for line in result.lines:
        print(line)
    print(result.figure)
    return 0 if result.good else 1


def in_the_environment() -> None:
    """Go on in the project's own environment, which is made at the first start; returns there, and only there."""
    sys.path[:0] = [str(ROOT), str(ROOT / "scripts")]
    from _environment import FOLDER, ready

    if Path(sys.prefix).resolve() != FOLDER.resolve():
        sys.exit(subprocess.run([str(ready(extra="dev")), *sys.argv], check=False).returncode)
