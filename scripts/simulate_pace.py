"""Play the person's own pace on simulated hands and floating inputs, and print what it saves and what it costs.

Usage: python scripts/simulate_pace.py [--runs 20000] [--hands 500] [--seed 1] [--only PLAN] [--who PERSON] [--json]

Two tables. *Floating inputs* flip by themselves at a constant rate, whatever the hand does; how often one is named
direct or inverted is counted, with the fixed countdown and with the one that follows the pace it seems to show. *Hands*
work a sound sensor: reaction times are log-normal, median 0.9 s, 95th percentile 2 s (stated, not measured). A person
who *keeps up* is never later than the countdown; one who does not reacts as if there were none. A slip is to do
nothing, the opposite, or what is asked while the dwell runs.

The pace is written here once more, from its description; the first runs are held against the tool's own.

Exit code 1 when a wrong polarity is named in more than 0.5 % of the runs of a floating input.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from scripts.pace.floating import FloatingRow, floating
from scripts.pace.hands import HandsRow, Somebody, hands
from scripts.pace.plans import PLANS

WRONG_LIMIT = 0.005
FLIPS_PER_S = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
PEOPLE = tuple(Somebody(slips, keeps) for keeps in (True, False) for slips in (0.0, 0.01, 0.02, 0.03))


def main(arguments: list[str]) -> int:
    """Print both tables, row by row, and say whether the limit is kept."""
    parser = argparse.ArgumentParser(description="Play the person's own pace on simulated hands and floating inputs.")
    parser.add_argument("--runs", type=int, default=20_000, help="runs of each floating input (default 20000)")
    parser.add_argument("--hands", type=int, default=500, help="runs of each person (default 500)")
    parser.add_argument("--seed", type=int, default=1, help="the same seed gives the same tables (default 1)")
    parser.add_argument("--only", metavar="PLAN", default="", help="only plans whose name has these words")
    parser.add_argument("--who", metavar="PERSON", default="", help="only people of whom it is said, as in: keeps up")
    parser.add_argument("--json", action="store_true", help="print one JSON object a row instead of text")
    options = parser.parse_args(arguments)
    names = [name for name in PLANS if options.only in name]
    people = [who for who in PEOPLE if options.who in who.said]
    if not (0 <= options.runs <= 1_000_000 and 0 <= options.hands <= 100_000):
        parser.error("--runs takes 0 to 1000000, --hands 0 to 100000")
    if not names:
        parser.error(f"no plan has {options.only!r} in its name; the plans are: {'; '.join(PLANS)}")
    if not people:
        parser.error(f"nobody is said to be {options.who!r}; the people are: {'; '.join(who.said for who in PEOPLE)}")
    broken = 0
    for row in _rows(names, people, options):
        broken += isinstance(row, FloatingRow) and row.direct + row.inverted > WRONG_LIMIT
        print(json.dumps(asdict(row)) if options.json else row.said, flush=True)
    if not options.json:
        print(f"Limit broken by {broken} rows." if broken else "Wrong polarity at most 0.5 % everywhere.")
    return 1 if broken else 0


def _rows(
    names: Sequence[str], people: Sequence[Somebody], options: argparse.Namespace
) -> Iterator[FloatingRow | HandsRow]:
    """Every row as it is played; a table of no runs is left out."""
    for name in names if options.runs else ():
        for rate in FLIPS_PER_S:
            yield floating(name, rate, options.runs, options.seed)
    for who in people if options.hands else ():
        for name in names:
            yield hands(name, who, options.hands, options.seed)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
