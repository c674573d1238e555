"""Commission simulated units, sound and unsafe, with careful, clumsy and cheating people, and count the false verdicts.

Usage: python scripts/simulate_commissioning.py [--quick] [--seed 1] [--runs 3000] [--only KIND] [--slips 0.02]
           [--show NUMBER] [--json FILE] [--numbers FIRST:END]
       python scripts/simulate_commissioning.py --sum FILE...

The tool's own procedures are driven: trials, wiggle, unplug test and start-up, and for those who stop, go on or begin
anew whole runs through a record book. They are answered from raw readings of a plant that knows nothing of them, by a
person that follows the prompts. A whole campaign takes some minutes on two cores, `--quick` less than one; both are
bounded in time. Exit code 1 when a figure is off or was not reached; the table says which, with the numbers of
commissionings to look at: `--only KIND --show NUMBER` prints one of them.

A campaign that takes longer than there is time for is carried out in slices: `--only KIND --numbers 0:500 --json FILE`
does these of each such kind, and `--sum FILE...` adds up what the files hold and judges that.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from scripts.campaigns._shape import Result
from scripts.commissioning.campaign import Order, carry_out, play
from scripts.commissioning.figures import Figure, Row, figures
from scripts.commissioning.kinds import KINDS
from scripts.commissioning.printing import as_json, lines
from scripts.commissioning.slices import NotASlice, added_up
from scripts.commissioning.untaught import Untaught

NAME = "commissioning"
RUNS, QUICK_RUNS = 3000, 24
MOST_S = 3600.0
MOST_RUNS = 1_000_000


def run(*, quick: bool, seed: int) -> Result:
    """The campaign as one among others: each figure of its table that the counts decide is a thing that must hold."""
    order = Order(
        runs=QUICK_RUNS if quick else RUNS,
        seed=seed,
        most_s=MOST_S,
        processes=os.cpu_count() or 1,
    )
    return result(order, *_counted(order, demanding=not quick))


def result(order: Order, rows: Sequence[Row], found: Sequence[Figure]) -> Result:
    """These rows and figures in the shape of every campaign; figures that chance may have moved decide nothing."""
    held = sum(figure.state == "held" for figure in found)
    broken = sum(figure.broken for figure in found)
    return Result(NAME, held + broken, held, broken, order.seed, tuple(lines(order, rows, found)))


def _counted(order: Order, *, demanding: bool) -> tuple[list[Row], list[Figure]]:
    """Carry it out; a campaign that ran out of time is short of its numbers."""
    done = carry_out(order, lambda said: print(said, file=sys.stderr, flush=True))
    return done.rows, figures(done.rows, whole=demanding or not done.whole, own_slips=order.slips is None)


def show(kind: str, number: int, seed: int, slips: float | None) -> str:
    """What one commissioning found."""
    came, plant = play(KINDS[kind], number, seed, slips)
    said = {"kind": kind, "number": number, "seed": seed, "unit": str(plant.unit), "harms": sorted(plant.unit.harms)}
    found = {name: dict(came.findings.get(name, {})) for name in ("polarity", "fail_safe", "start_up", "acceptance")}
    return json.dumps(said | {"ended": came.ended, "verdict": came.verdict, "findings": found}, indent=1)


def _options() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description="Count the false verdicts of simulated commissionings.")
    parser.add_argument("--quick", action="store_true", help="fewer commissionings, less than a minute on two cores")
    parser.add_argument("--seed", type=int, default=1, help="the same seed gives the same table (default 1)")
    parser.add_argument("--runs", type=int, help=f"commissionings of each main kind (default {RUNS})")
    parser.add_argument("--only", metavar="KIND", default="", help="only kinds whose name has these words")
    parser.add_argument("--slips", type=float, metavar="P", help="probability of a slip for every person, 0 to 0.2")
    parser.add_argument("--show", type=int, metavar="NUMBER", help="print this one commissioning of the only kind")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the counts and figures there as well")
    parser.add_argument("--numbers", metavar="FIRST:END", type=_numbers, help="a slice: these of each kind, no END")
    parser.add_argument("--sum", metavar="FILE", type=Path, nargs="+", help="add up slices, and judge the sum")
    parser.add_argument("--processes", type=int, default=os.cpu_count() or 1, help="default: one a core")
    return parser


def _numbers(text: str) -> tuple[int, int]:
    """FIRST:END, as in 0:500 for the commissionings 0 to 499."""
    first, _, end = text.partition(":")
    if not (first.isdecimal() and end.isdecimal() and 0 <= int(first) < int(end) <= MOST_RUNS):
        raise argparse.ArgumentTypeError(f"{text!r} is no slice: give FIRST:END, as in 0:500")
    return int(first), int(end)


def main(arguments: list[str]) -> int:
    """Print the tables and say by the exit code whether every figure holds."""
    parser = _options()
    options = parser.parse_args(arguments)
    kinds = tuple(name for name in KINDS if options.only in name)
    for broken, demand in (
        (not kinds, f"no kind has {options.only!r} in its name; the kinds are:\n  " + "\n  ".join(KINDS)),
        (options.runs is not None and not 1 <= options.runs <= MOST_RUNS, f"--runs takes 1 to {MOST_RUNS}"),
        (options.slips is not None and not 0 <= options.slips <= 0.2, "--slips takes 0 to 0.2"),
        (not 1 <= options.processes <= 64, "--processes takes 1 to 64"),
        (
            options.show is not None and len(kinds) != 1 and options.only not in KINDS,
            "--show takes --only with one kind",
        ),
    ):
        if broken:
            parser.error(demand)
    try:
        if options.sum is not None:
            return _summed(options)
        if options.show is not None:
            kind = options.only if options.only in KINDS else kinds[0]
            print(show(kind, options.show, options.seed, options.slips))
            return 0
        return _campaign(options, kinds)
    except (Untaught, NotASlice) as refused:
        print(refused, file=sys.stderr)
        return 2


def _summed(options: argparse.Namespace) -> int:
    """What the slices come to together; every claim needs its number, as in a whole campaign."""
    order, rows = added_up(options.sum)
    return _told(options, order, rows, figures(rows, whole=True, own_slips=order.slips is None))


def _campaign(options: argparse.Namespace, kinds: tuple[str, ...]) -> int:
    order = Order(
        runs=options.runs or (QUICK_RUNS if options.quick else RUNS),
        seed=options.seed,
        kinds=kinds,
        slips=options.slips,
        most_s=MOST_S,
        processes=options.processes,
        numbers=options.numbers,
    )
    demanding = not (options.quick or options.runs or options.only or options.numbers)
    return _told(options, order, *_counted(order, demanding=demanding))


def _told(options: argparse.Namespace, order: Order, rows: Sequence[Row], found: Sequence[Figure]) -> int:
    """Print it, keep it where that is asked for, and say whether every figure holds."""
    print("\n".join(lines(order, rows, found)))
    if options.json is not None:
        options.json.write_text(json.dumps(as_json(order, rows, found), indent=1) + "\n", encoding="utf-8")
    return 1 if any(figure.broken for figure in found) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
