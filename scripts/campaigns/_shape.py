"""What every campaign comes to, and how it is called: `python3 scripts/campaigns/NAME.py [--quick] [--seed N]`."""

from __future__ import annotations

import argparse
import importlib.util
import inspect
import shlex
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

SCRIPTS = Path(__file__).resolve().parent.parent


@dataclass(frozen=True)
class Result:
    """What a campaign came to.

    Attributes:
        name: of the campaign.
        tried: cases carried out.
        held: those in which the rule held.
        broken: those in which it did not.
        seed: where chance began; the same seed gives the same cases.
        lines: what was found, for a person: a table, then each broken case.
    """

    name: str
    tried: int
    held: int
    broken: int
    seed: int
    lines: tuple[str, ...] = ()


def again(name: str, *, quick: bool, seed: int, case: str) -> str:
    """The command that repeats one case of a campaign whose cases can be chosen."""
    return f"python3 scripts/campaigns/{name}.py{' --quick' if quick else ''} --seed {seed} --only {shlex.quote(case)}"


def own_environment() -> None:
    """Start the campaign again in the project's environment where the interpreter it was started with lacks a part."""
    if all(importlib.util.find_spec(part) is not None for part in ("sqlalchemy", "pytest")):
        return
    sys.path.insert(0, str(SCRIPTS))
    from _environment import ready

    sys.exit(subprocess.run([str(ready(extra="dev")), *sys.argv], check=False).returncode)


def main(run: Callable[..., Result]) -> None:
    """Run a campaign from the command line, print what it came to, and end with 1 when a rule was broken."""
    parser = argparse.ArgumentParser(description=sys.modules[run.__module__].__doc__)
    parser.add_argument("--quick", action="store_true", help="the smallest set of cases that covers every rule")
    parser.add_argument("--seed", type=int, default=1, help="where chance begins (default 1)")
    chooses = "only" in inspect.signature(run).parameters
    if chooses:
        parser.add_argument("--only", metavar="WORDS", default="", help="only the cases whose name has these words")
    options = parser.parse_args()
    chosen = {"only": options.only} if chooses else {}
    found = run(quick=options.quick, seed=options.seed, **chosen)
    for line in found.lines:
        print(line)
    print(f"{found.name}: {found.tried} tried, {found.held} held, {found.broken} broken (seed {found.seed})")
    sys.exit(1 if found.broken else 0)
