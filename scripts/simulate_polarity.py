"""Play the polarity rule and the acceptance rule on simulated switches, many times, and print what they conclude.

Usage: python scripts/simulate_polarity.py [--runs 20000] [--seed 1] [--json]

Each run is a whole loop check of 20 cycles with the real prompts and the real timing: 5 s of countdown, 21 readings
over 2 s, one prompt in four saying to leave the filament as it is. A floating input is a random telegraph signal: it
flips by itself at a constant rate, whatever the hand does. What a dwell of it shows (majority, last state, any
change) follows an exact distribution that is worked out once per rate, so that one random number plays one dwell.
Everything but the switch under test is given its best case, so that nothing else can save the rule: the wiggle is
clean and the unplugged input rests at out, except for a floating input, which floats there too.

Exit code 1 when a wrong polarity is named in more than 0.5 % of the runs of any case, or when a stuck or floating
input passes even once.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
from collections import Counter
from dataclasses import dataclass
from functools import cache
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from commission.judge.acceptance import accept
from commission.judge.evidence import LoopEvidence, PullResult, WiggleResult
from commission.judge.exposure import Watched
from commission.judge.failsafe import UnpluggedResult
from commission.judge.plan import Plan
from commission.judge.polarity import LEAST_CYCLES, MOST_CYCLES, TrialResult, look
from commission.judge.power import PowerSeen
from commission.judge.schedule import Prompt, prompts
from commission.judge.unplugged import MOVES
from commission.vocabulary import Instruction, Presence, PullConclusion, Reading, SwitchBehaviour, Verdict
from scripts.polarity.switches import CASES, PLAN, Case, odd_flips

WRONG_LIMIT = 0.005
SCHEDULES = 500
POLARITIES = (SwitchBehaviour.DIRECT, SwitchBehaviour.INVERTED)
STUCK = (SwitchBehaviour.STUCK_ACTIVE, SwitchBehaviour.STUCK_INACTIVE)


@cache
def look_at(cycles: int, active_in: int, active_out: int) -> SwitchBehaviour:
    """The real rule's finding; only the counts matter to it, so each combination is looked at once."""
    trials = [
        TrialResult(presence, Reading.ACTIVE if number < active else Reading.INACTIVE)
        for presence, active in ((Presence.IN, active_in), (Presence.OUT, active_out))
        for number in range(cycles)
    ]
    return look(trials, cycles_done=cycles, needed_odds=PLAN.needed_odds).behaviour


@cache
def verdict(evidence: LoopEvidence) -> Verdict:
    """The real acceptance rule's verdict."""
    return accept(PLAN, evidence).verdict


def run_once(case: Case, order: tuple[Prompt, ...], chance: random.Random) -> tuple[SwitchBehaviour, Verdict]:
    """One whole loop check: the polarity found, and the verdict."""
    finding = SwitchBehaviour.UNDECIDED
    active = {Presence.IN: 0, Presence.OUT: 0}
    rests = rest_changes = moves = 0
    changed_in_dwell = False
    before: bool | None = None
    for prompt, (majority, changed) in zip(order, case.switch(chance, order), strict=True):
        changed_in_dwell |= changed
        if prompt.instruction is Instruction.LEAVE:
            rests += 1
            rest_changes += before is not None and majority is not before
        else:
            moves += 1
            active[prompt.presence] += majority
            cycles, half = divmod(moves, 2)
            if finding is SwitchBehaviour.UNDECIDED and not half and LEAST_CYCLES <= cycles <= MOST_CYCLES:
                finding = look_at(cycles, active[Presence.IN], active[Presence.OUT])
        before = majority
    misread_in, misread_out = PLAN.cycles - active[Presence.IN], active[Presence.OUT]
    if finding is SwitchBehaviour.INVERTED:
        misread_in, misread_out = active[Presence.IN], PLAN.cycles - active[Presence.OUT]
    evidence = LoopEvidence(
        polarity=finding,
        in_trials=PLAN.cycles,
        in_misreads=misread_in,
        out_trials=PLAN.cycles,
        out_misreads=misread_out,
        unwanted_changes_in_dwells=int(changed_in_dwell),
        leave_it_trials=rests,
        leave_it_changes=min(1, rest_changes),
        wiggle=wiggle(case, chance),
        unplugged=(unplugged(case, chance), unplugged(case, chance)),
        pull=PullResult(PullConclusion.PROVEN, "The pull was proven."),
    )
    return finding, verdict(evidence)


def wiggle(case: Case, chance: random.Random) -> WiggleResult:
    """A wiggle with readings 0.1 s apart: clean, unless a floating input flips in it."""
    quiet = (1 - odd_flips(case.floating_per_s, 0.1)) ** (PLAN.wiggle_readings - 1)
    changes = int(chance.random() >= quiet)
    return WiggleResult(Watched(PLAN.wiggle_readings, PLAN.wiggle_s, PLAN.wiggle_s, changes, 0.1, 0))


def unplugged(case: Case, chance: random.Random) -> UnpluggedResult:
    """One power-up without the sensor, hands off and through four moves: steadily out, unless the input floats."""
    count = (1 + len(MOVES)) * PLAN.readings_per_dwell
    if not case.floating_per_s:
        return UnpluggedResult((Reading.INACTIVE,) * count, watched=True, power=PowerSeen.POWER_OFF)
    quiet = (1 - odd_flips(case.floating_per_s, PLAN.dwell_s / (PLAN.readings_per_dwell - 1))) ** (count - 1)
    first, other = (Reading.ACTIVE, Reading.INACTIVE) if chance.random() < 0.5 else (Reading.INACTIVE, Reading.ACTIVE)
    steady = chance.random() < quiet
    readings = (first,) * count if steady else (first,) * (count - 1) + (other,)
    return UnpluggedResult(readings, watched=True, power=PowerSeen.POWER_OFF)


@dataclass(frozen=True)
class Row:
    """Shares of the runs of one case, each between 0 and 1."""

    case: str
    right: float
    wrong_polarity: float
    no_relation: float
    stuck: float
    passes: float
    conditional: float
    may_pass: bool

    @property
    def holds(self) -> bool:
        """Whether the limits of this script are kept."""
        return self.wrong_polarity <= WRONG_LIMIT and (self.may_pass or self.passes == 0)


def play(case: Case, runs: int, seed: int) -> Row:
    """All runs of one case; the same for the same seed."""
    chance = random.Random(f"{seed} {case.name}")  # noqa: S311 - repeatable on purpose
    orders = [prompts(Plan(seed=chance.randrange(2**32)), Presence.OUT) for _ in range(min(runs, SCHEDULES))]
    found: Counter[SwitchBehaviour] = Counter()
    verdicts: Counter[Verdict] = Counter()
    for number in range(runs):
        finding, judged = run_once(case, orders[number % len(orders)], chance)
        found[finding] += 1
        verdicts[judged] += 1
    return Row(
        case=case.name,
        right=found[case.truth] / runs,
        wrong_polarity=sum(found[p] for p in POLARITIES if p is not case.truth) / runs,
        no_relation=found[SwitchBehaviour.NO_RELATION] / runs,
        stuck=sum(found[s] for s in STUCK) / runs,
        passes=verdicts[Verdict.PASS] / runs,
        conditional=verdicts[Verdict.CONDITIONAL] / runs,
        may_pass=case.truth is SwitchBehaviour.DIRECT,
    )


def table(rows: list[Row]) -> str:
    """The rows as aligned text, in percent."""
    heads = ("right", "wrong pol.", "no relation", "stuck", "passes")
    lines = [f"{'switch':36}" + "".join(f"{head:>13}" for head in heads)]
    for row in rows:
        shares = (row.right, row.wrong_polarity, row.no_relation, row.stuck, row.passes)
        lines.append(f"{row.case:36}" + "".join(f"{100 * share:11.3f} %" for share in shares))
    return "\n".join(lines)


def main(arguments: list[str]) -> int:
    """Play every case and say whether the limits are kept."""
    parser = argparse.ArgumentParser(description="Play the polarity and acceptance rules on simulated switches.")
    parser.add_argument("--runs", type=int, default=20_000, help="runs of each case (default 20000)")
    parser.add_argument("--seed", type=int, default=1, help="the same seed gives the same table (default 1)")
    parser.add_argument("--json", action="store_true", help="print the rows as JSON instead of a table")
    options = parser.parse_args(arguments)
    if not 1 <= options.runs <= 1_000_000:
        parser.error("--runs takes 1 to 1000000")
    rows = [play(case, options.runs, options.seed) for case in CASES]
    broken = [row.case for row in rows if not row.holds]
    if options.json:
        print(json.dumps([row.__dict__ for row in rows], indent=1))
        return 1 if broken else 0
    print(f"{options.runs} loop checks of {PLAN.cycles} cycles for each switch, seed {options.seed}\n")
    print(table(rows))
    print()
    print(
        f"Limits broken: {', '.join(broken)}"
        if broken
        else "Wrong polarity at most 0.5 % everywhere; no stuck or floating input passes."
    )
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
