"""Nothing that is damaged is taken for whole: captures, operator scripts, unit files, books and exports.

    python3 scripts/campaigns/fuzz.py [--quick] [--seed N] [--only WORDS]

Each case damages one file by chance and gives it to the real command. Held means that the command ends with an exit
code of the manual, without a traceback, in its time, and that nothing is accepted wrongly:

- capture, by `read --json`: every switch that is reported stands in one line of the file with its word behind it, and
  every settings value in one line with its command;
- script, by `install --operator` with no printer behind the port: what is no TOML, has another format, a key that the
  description does not have, or an answer without its two keys is refused with 2;
- unit, by the simulated printer itself: what is no TOML or has a table that no unit has is refused with 2;
- book, by `book list`, `book verify` and `report`: a file that is no whole database is no pass of verify, and no file
  is changed by looking at it;
- export, by `book import` into a new book: what is not the same chain of entries, worked out here with hashlib, is
  refused and leaves no entry behind; what is whole goes in with every entry.

Counts: 4000 captures, 1000 scripts, 200 units, 400 books, 1000 exports; --quick 120, 60, 12, 30 and 60.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from scripts.campaigns._shape import Result, again, main, own_environment

own_environment()

from scripts.campaigns import _fuzzed_books, _fuzzed_texts  # noqa: E402 - once the environment is there
from scripts.campaigns._damage import Bench  # noqa: E402
from scripts.campaigns._tool import Tools  # noqa: E402

NAME = "fuzz"
COUNTS = {"capture": (120, 4000), "script": (60, 1000), "unit": (12, 200), "book": (30, 400), "export": (60, 1000)}
_KINDS: dict[str, Callable[[Bench, str], tuple[int, str]]] = {
    "capture": _fuzzed_texts.capture,
    "script": _fuzzed_texts.script,
    "unit": _fuzzed_texts.unit,
    "book": _fuzzed_books.book,
    "export": _fuzzed_books.export,
}


def run(*, quick: bool, seed: int, only: str = "") -> Result:
    """Damage files.

    Args:
        quick: few of each kind.
        seed: where chance begins.
        only: words in the name of the cases to try; all of them when empty.
    """
    counts: dict[str, Counter[str]] = {}
    broken: list[str] = []
    with tempfile.TemporaryDirectory(prefix="fuzz-") as folder, Tools(1) as tools, tools.one() as tool:
        bench = Bench(tool, Path(folder))
        for kind, sizes in COUNTS.items():
            for number in range(sizes[0] if quick else sizes[1]):
                name = f"{kind} {number:04d}"
                if only not in name:
                    continue
                ended, why = _KINDS[kind](bench, f"fuzz/{seed}/{name}")
                counts.setdefault(kind, Counter())[f"ended with {ended}"] += 1
                if why:
                    broken.append(f"BROKEN: {name}: {why}; {again(NAME, quick=quick, seed=seed, case=name)}")
    tried = sum(sum(each.values()) for each in counts.values())
    table = [
        f"{kind}: " + ", ".join(f"{n} {what}" for what, n in sorted(each.items())) for kind, each in counts.items()
    ]
    return Result(NAME, tried, tried - len(broken), len(broken), seed, (*table, *broken))


if __name__ == "__main__":
    main(run)
