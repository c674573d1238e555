"""Run the fault campaigns, and say in one table whether everything held.

    python3 scripts/campaign.py [NAME...] [--quick] [--json FILE] [--seed N]

Each campaign breaks something on purpose many times, and counts the cases in which a rule held. All of them are seeded,
and bounded in count and in time: a campaign that is not finished in its time held nothing. --quick takes less than
three minutes on two cores that have nothing else to do; without it all of them take about two hours.

Exit codes: 0 everything held; 1 something did not, or was not finished; 2 wrong usage. --json writes what the table
says, as one object:

    format    1
    quick     whether it was the small size
    seed      where chance began
    held      whether everything held
    campaigns a list in the order of the table, of each: name, tried, held, broken, seed, seconds, ended (whole, not
              finished or crashed), off (whether any of it did not hold), lines (what it found, for a person)
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import os
import signal
import sys
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from scripts._environment import ready
from scripts.campaigns._carrying import WHOLE, Campaign, Outcome, carry_out

HOUR_S = 3600.0
CAMPAIGNS = (
    Campaign("interruptions", "scripts.campaigns.interruptions", 2500, HOUR_S),
    Campaign("unread", "scripts.campaigns.unread", 2200, HOUR_S),
    Campaign("tamper", "scripts.campaigns.tamper", 2000, HOUR_S),
    Campaign("kills", "scripts.campaigns.kills", 3000, 3 * HOUR_S),
    Campaign("concurrency", "scripts.campaigns.concurrency", 2400, HOUR_S),
    Campaign("shared", "scripts.campaigns.shared", 1800, HOUR_S),
    Campaign("restore", "scripts.campaigns.restore", 2100, HOUR_S),
    Campaign("link", "scripts.campaigns.link", 2600, 3 * HOUR_S),
    Campaign("hostile", "scripts.campaigns.hostile", 2300, HOUR_S),
    Campaign("fuzz", "scripts.campaigns.fuzz", 1900, HOUR_S),
    Campaign("installs", "scripts.simulate_installs", 1700, HOUR_S),
    Campaign("commissioning", "scripts.simulate_commissioning", 2700, HOUR_S, alone=True),
)
"""All there are, in the order of the table.

What bounds the small size is its number of cases. Its time limit ends what is stuck; on a machine with ten times too
much to do nothing else comes near it. The longer limit is begun first, so that nothing long is left for the end.
"""
OFF = ("BROKEN", "OFF", "too few")
"""How the lines begin that say what did not hold, or could not be shown."""
HEAD = ("campaign", "tried", "held", "broken", "seed", "seconds", "")


def main(arguments: Sequence[str], campaigns: Sequence[Campaign] = CAMPAIGNS) -> int:
    """Carry out what was asked for; the exit code is returned."""
    parser = _parser(campaigns)
    options = parser.parse_args(arguments)
    known = {each.name: each for each in campaigns}
    for name in options.names:
        if name not in known:
            parser.error(f"there is no campaign {name!r}; the campaigns are: {', '.join(known)}")
    if options.json is not None and not options.json.absolute().parent.is_dir():
        parser.error(f"there is no folder {str(options.json.parent)!r} for the file of --json")
    chosen = [each for each in campaigns if not options.names or each.name in options.names]
    try:
        outcomes = carry_out(chosen, quick=options.quick, seed=options.seed, say=_progress)
    except KeyboardInterrupt:
        print("Stopped; nothing of it counts.", file=sys.stderr)
        return 1
    print("\n".join(report(outcomes, quick=options.quick)))
    if options.json is not None:
        told = as_json(outcomes, quick=options.quick, seed=options.seed)
        options.json.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")
    return 1 if any(each.off for each in outcomes) else 0


def _parser(campaigns: Sequence[Campaign]) -> argparse.ArgumentParser:
    summary, _, rest = (__doc__ or "").partition("\n")
    parser = argparse.ArgumentParser(
        prog="python3 scripts/campaign.py",
        description=summary,
        epilog=rest.partition("--seed N]")[2].strip(),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    names = ", ".join(each.name for each in campaigns)
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"all of them when left out: {names}")
    parser.add_argument("--quick", action="store_true", help="few cases of each, for every day")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures there as well")
    parser.add_argument("--seed", type=int, default=1, metavar="N", help="the same seed gives the same cases (1)")
    return parser


def _progress(outcome: Outcome) -> None:
    said = "does NOT hold" if outcome.off else "holds"
    print(f"{outcome.name} {said}, {outcome.seconds:.0f} s", file=sys.stderr, flush=True)


def report(outcomes: Sequence[Outcome], *, quick: bool) -> list[str]:
    """What was found in each campaign that did not hold and how to repeat it, then the table."""
    lines = [line for outcome in outcomes if outcome.off for line in _broken(outcome, quick=quick)]
    rows = [HEAD, *map(_row, outcomes)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(HEAD))]
    return lines + [_aligned(row, widths) for row in rows]


def _broken(outcome: Outcome, *, quick: bool) -> list[str]:
    found = list(outcome.lines)
    told = [line for line in found if line.startswith(OFF)] if outcome.ended == WHOLE else found
    again = f"python3 scripts/campaign.py {outcome.name}{' --quick' if quick else ''} --seed {outcome.seed}"
    return [f"{outcome.name}:", *(f"  {line}" for line in told or found), f"  to repeat: {again}", ""]


def _row(outcome: Outcome) -> tuple[str, ...]:
    said = "NOT HELD" if outcome.off else "held"
    said = said if outcome.ended == WHOLE else f"NOT HELD: {outcome.ended}"
    counts = (outcome.tried, outcome.held, outcome.broken, outcome.seed)
    return (outcome.name, *map(str, counts), f"{outcome.seconds:.1f}", said)


def _aligned(row: Sequence[str], widths: Sequence[int]) -> str:
    first, *middle, last = row
    cells = [first.ljust(widths[0]), *(cell.rjust(width) for cell, width in zip(middle, widths[1:], strict=False))]
    return "  ".join([*cells, last]).rstrip()


def as_json(outcomes: Sequence[Outcome], *, quick: bool, seed: int) -> dict[str, object]:
    """The figures in the form that the help describes."""
    campaigns = [dataclasses.asdict(each) | {"off": each.off} for each in outcomes]
    held = not any(each.off for each in outcomes)
    return {"format": 1, "quick": quick, "seed": seed, "held": held, "campaigns": campaigns}


if __name__ == "__main__":
    python = ready(extra="dev")
    if Path(sys.prefix) != python.parent.parent:
        os.execv(python, [str(python), __file__, *sys.argv[1:]])  # noqa: S606 - the same process: it can be stopped
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # the campaigns under way end with this one
    sys.exit(main(sys.argv[1:]))
