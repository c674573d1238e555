"""Measure how fast the tool is, each figure beside a baseline of the same run, in one table.

    python3 scripts/bench.py [--quick] [--only NAME] [--json FILE]

A figure counts as a ratio: what else the machine does slows the baseline down as well. The load of the machine stands
under the table, before and after; where it is above the number of cores, measure again. The figures are those of the
paths that a user takes. --quick takes less than two minutes on a quiet machine. The simulator's own cost has a
table of its own: scripts/benchmarks/simulator.py.

Exit codes: 0 all was measured; 1 a part could not be; 2 wrong usage. --json writes the table as one object:

    format    1
    quick     whether it was the small size
    load      of the machine in the last minute, before and after; cores is the number of them
    figures   a list in the order of the table, of each: part, what, value, unit, baseline, against, ratio (or null)
    failed    the parts that could not be measured, each with the reason
"""

from __future__ import annotations

import argparse
import importlib
import json
import math
import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from scripts._environment import python, ready

if TYPE_CHECKING:
    from scripts.benchmarks._figures import Figure, Size

PARTS: Mapping[str, str] = {
    "link": "round trips a second of each kind of link",
    "dwell": "readings a second of a dwell, and the processor for one",
    "watches": "the same of a wiggle and a soak, through desk and record",
    "exchange": "from a change of the switch to its reading",
    "start": "start of the overview; the first byte of an unattended check",
    "writing": "entries a second, and the report of a run with many readings",
    "record": "due list and overview of a growing record",
    "many": "a check of many printers at once, beside one printer's",
    "pace": "minutes of a person",
}
"""Each is a module in scripts/benchmarks with a function `figures`."""


def main(arguments: Sequence[str], size: Size | None = None) -> int:
    """Measure what was asked for; the exit code is returned.

    Args:
        arguments: as typed.
        size: how much is measured; else as the arguments say.
    """
    options = _parser().parse_args(arguments)
    from scripts.benchmarks._figures import QUICK, WHOLE

    size = size or (QUICK if options.quick else WHOLE)
    before, told = os.getloadavg()[0], []
    failed: dict[str, str] = {}
    for part in options.only or PARTS:
        try:
            for each in _figures(part, size):
                told.append(_values(part, each))
                print(_line(part, each), flush=True)
        except (Exception, SystemExit) as trouble:  # noqa: BLE001 - told, and the other parts are measured
            failed[part] = f"{type(trouble).__name__}: {trouble}"
            print(f"{part:9} NOT MEASURED: {failed[part]}", flush=True)
    load = {"before": before, "after": os.getloadavg()[0], "cores": os.cpu_count() or 1}
    print(_load_told(load))
    if options.json is not None:
        data = {"format": 1, "quick": options.quick, "load": load, "figures": told, "failed": failed}
        options.json.write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    return 1 if failed else 0


def _parser() -> argparse.ArgumentParser:
    listed = "\n".join(f"  {name:9} {what}" for name, what in PARTS.items())
    parser = argparse.ArgumentParser(
        description=f"Measure how fast the tool is, beside baselines of the same run.\n\nParts:\n{listed}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--only", action="append", choices=list(PARTS), help="this part alone; repeatable")
    parser.add_argument("--quick", action="store_true", help="less of each, in under two minutes")
    parser.add_argument("--json", type=Path, metavar="FILE", help="also write the table as JSON")
    return parser


def _figures(part: str, size: Size) -> Iterator[Figure]:
    found: Iterator[Figure] = importlib.import_module(f"scripts.benchmarks.{part}").figures(size)
    return found


def _values(part: str, each: Figure) -> dict[str, object]:
    ratio = each.ratio if math.isfinite(each.ratio) else None
    named = {"what": each.what, "value": each.value, "unit": each.unit, "baseline": each.baseline}
    return {"part": part, **named, "against": each.against, "ratio": ratio}


def _line(part: str, each: Figure) -> str:
    value, against = f"{each.value:.4g} {each.unit}", f"{each.against:.4g} {each.unit}"
    return f"{part:9} {each.what:44} {value:>14}  {each.ratio:7.2f} x {each.baseline} ({against})"


def _load_told(load: Mapping[str, float]) -> str:
    said = f"Load of the machine: {load['before']:.1f} before, {load['after']:.1f} after, on {load['cores']:.0f} cores."
    busy = max(load["before"], load["after"]) > load["cores"]
    return f"{said} It was busy with other things: measure again." if busy else said


if __name__ == "__main__":
    if Path(sys.prefix).resolve() != python().parent.parent.resolve():
        os.execv(ready(extra="dev"), [str(python()), *sys.argv])  # noqa: S606 - this script in its own environment
    raise SystemExit(main(sys.argv[1:]))
