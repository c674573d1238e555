"""Install simulated sensors until they are right, and count the builds: as it comes, on paper, by a borrowed socket.

Usage: python scripts/simulate_installs.py [--quick] [--seed 1] [--runs 1000] [--show NUMBER]

Each installation is drawn from stated priors: the sensor, its contact, the input of the board, what the build says
unless it is told otherwise, the endstop's socket, and what the person takes all that for. Then it is carried out once
on each way. The borrowed socket is driven by the tool's own procedure, answered from a plant that shares no code with
it. A whole campaign takes about two minutes on one core, `--quick` some ten seconds; both are bounded in time.

Exit code 1 when a figure is off or nothing was counted. `--show NUMBER` prints one installation and what came of it.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from scripts.campaigns._shape import Result
from scripts.commissioning.chance import chance_of
from scripts.commissioning.untaught import Untaught
from scripts.installs.counted import Figure, Installed, figures, table
from scripts.installs.priors import drawn, stated
from scripts.installs.ways import WAYS

NAME = "installs"
RUNS, QUICK_RUNS = 1000, 120
MOST_S = 1800.0
MOST_RUNS = 100_000


def run(*, quick: bool, seed: int) -> Result:
    """The campaign as one among others."""
    done = carried_out(QUICK_RUNS if quick else RUNS, seed, MOST_S)
    found = figures(done, seed)
    broken = sum(figure.broken for figure in found)
    return Result(NAME, len(found), len(found) - broken, broken, seed, tuple(lines(done, found, seed)))


def installed(number: int, seed: int) -> Installed:
    """One installation on every way; the same for the same number and seed."""
    made = drawn(chance_of(seed, "installation", number))
    return Installed({name: way(made, chance_of(seed, name, number)) for name, way in WAYS.items()})


def carried_out(runs: int, seed: int, most_s: float) -> list[Installed]:
    """So many installations, or as many as there is time for.

    Raises:
        Untaught: the procedure asks what no person here has an answer for.
    """
    until_s = time.monotonic() + most_s
    found = []
    for number in range(runs):
        if time.monotonic() > until_s:
            print(f"Out of time: {number} of {runs} installations are counted.", file=sys.stderr)
            break
        found.append(installed(number, seed))
    return found


def lines(done: Sequence[Installed], found: Sequence[Figure], seed: int) -> list[str]:
    """Everything for print: the priors, the means, the figures."""
    told = list(table(done, seed)) if done else []
    return ["The priors, stated and not measured:", *(f"  {line}" for line in stated()), "", *told, ""] + [
        figure.line for figure in found
    ]


def show(number: int, seed: int) -> str:
    """One installation, and what came of it."""
    made = drawn(chance_of(seed, "installation", number))
    said = [f"{name}: {way}" for name, way in installed(number, seed).ways.items()]
    return "\n".join([str(made), *said])


def main(arguments: list[str]) -> int:
    """Print what was found and say by the exit code whether every figure holds."""
    parser = argparse.ArgumentParser(description="Count the builds until a simulated installation is right.")
    parser.add_argument("--quick", action="store_true", help=f"{QUICK_RUNS} installations")
    parser.add_argument("--seed", type=int, default=1, help="the same seed gives the same table (default 1)")
    parser.add_argument("--runs", type=int, help=f"installations (default {RUNS})")
    parser.add_argument("--show", type=int, metavar="NUMBER", help="print this one installation")
    options = parser.parse_args(arguments)
    if options.runs is not None and not 1 <= options.runs <= MOST_RUNS:
        parser.error(f"--runs takes 1 to {MOST_RUNS}")
    if options.show is not None and not 0 <= options.show < MOST_RUNS:
        parser.error(f"--show takes 0 to {MOST_RUNS - 1}")
    try:
        if options.show is not None:
            print(show(options.show, options.seed))
            return 0
        runs = options.runs or (QUICK_RUNS if options.quick else RUNS)
        done = carried_out(runs, options.seed, MOST_S)
    except Untaught as refused:
        print(refused, file=sys.stderr)
        return 2
    found = figures(done, options.seed)
    print("\n".join(lines(done, found, options.seed)))
    return 1 if any(figure.broken for figure in found) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
