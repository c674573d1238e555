"""Play the diagnosis on simulated units: how often it is right, and how often it is wrong and sure.

Usage: python scripts/simulate_diagnosis.py [--runs 1000] [--seed 1] [--no-meter] [--only PART]

Each run draws a wiring, what is wrong with it, and up to 2 % of noise on every raw reading; half of the runs begin from
a loop check, half from nothing; tests are asked for one by one until the diagnosis stops. Printed, each with its number
of runs:

    faults       single faults that showed at least once, all alike and with the stated priors five times off: how often
                 the true class is first, and how often another one is with more than 90 %
    slips        sound units with one slip of the hand: how often a fault is named with more than 90 %
    declarations sound units whose contact, pull or absent level was declared wrong, and showed it: how often it is
                 named first that they are not as declared
    sticking     levers that stick in 10 to 30 % of all withdrawals: how often they are called sound with more than 90 %
    double       two faults at once, which the diagnosis does not know: how often it is sure of one that is neither

Each unit of the first line also goes through a full loop check without noise, held against the plan. The pull of its
input is taken as proven, so that the readings alone decide. Printed are the passes, those among them that did not read
out at every unplugged reading (none, or the program ends with 1), and those whose unplugged input is not held and stuck
at out in both power-ups by chance, which no reading can tell.
"""

from __future__ import annotations

import argparse
import random
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from diagnosis_units import Unit, working_wirings

from commission.judge.acceptance import accept
from commission.judge.diagnosis import BenchTest, Diagnosis
from commission.judge.evidence import LoopEvidence, PullResult, wiggled
from commission.judge.expectation import Expectation, Sign
from commission.judge.explanations import Observation
from commission.judge.failsafe import UnpluggedResult
from commission.judge.next_test import choose, next_power_up
from commission.judge.plan import Plan
from commission.judge.polarity import TrialResult, weigh
from commission.judge.power import PowerSeen
from commission.judge.stability import Sample
from commission.judge.trial import Came, TimedTrial
from commission.judge.trial_series import Counts
from commission.judge.weighing import CONFIDENT
from commission.procedure.wiring.candidates import SLIPPED, SOUND, Case, bench_tests, case_of
from commission.vocabulary import Presence, PullConclusion, Reading, Verdict
from commission.wiring.prediction import Probe

WHOLE = frozenset({"lever-sticky"})
SOUND_ONES = frozenset({SOUND, SLIPPED})
CYCLES = 22
PARTS = ("faults", "skewed", "slips", "declarations", "sticking", "double")
TITLES = {"faults": "faults, all alike", "skewed": "faults, the stated priors five times off"}


@dataclass
class Tally:
    """What came out of many runs."""

    runs: int = 0
    right: int = 0
    wrong_and_sure: int = 0
    fault_and_sure: int = 0
    sound_and_sure: int = 0
    asked: int = 0
    minutes: float = 0.0
    decided: int = 0
    passed: int = 0
    passed_unsteady: int = 0
    passed_by_chance: int = 0
    confusion: Counter[tuple[str, str]] = field(default_factory=Counter)


def played(
    case: Case, unit: Unit, tests: Sequence[BenchTest], *, from_loop_check: bool
) -> tuple[Diagnosis, int, float]:
    """Ask until it stops; the diagnosis, the tests asked for, and what they cost in minutes."""
    seen = loop_check(unit, tests) if from_loop_check else []
    begun, cost_s = len(seen), 0.0
    while (choice := choose(case.explanations, tests, seen)).test is not None:
        for _ in range(choice.times):
            seen.append(unit.answer(choice.test, next_power_up(tests, seen, choice.test)))
            cost_s += choice.test.cost_s
    return choice.diagnosis, len(seen) - begun, cost_s / 60


def loop_check(unit: Unit, tests: Sequence[BenchTest]) -> list[Observation]:
    """Trials until the plan is met or a kind is misread twice, a wiggle, and two power-ups unplugged."""
    named = {test.name: test for test in tests}
    seen: list[Observation] = []
    expected = {Probe.FILAMENT_IN: True, Probe.FILAMENT_OUT: False}
    misread: Counter[Probe] = Counter()
    for probe in list(expected) * CYCLES:
        seen.append(unit.answer(named[probe.value], 0))
        misread[probe] += seen[-1].mostly is not expected[probe]
        if seen[-1].restarted or max(misread.values()) > 1:
            return seen
    seen.append(unit.answer(named[Probe.CABLE_WORKED.value], 0))
    if not seen[-1].restarted:
        seen += [unit.answer(named[Probe.UNPLUGGED_AT_BOARD.value], number) for number in (1, 2)]
    return seen


def faults(runs: int, seed: int, tests: Sequence[BenchTest], *, off: float, passes: bool) -> Tally:
    """Single faults that showed at least once; each prior is taken `off` times too large or too small."""
    wirings, tally = working_wirings(), Tally()
    weights = random.Random(f"{seed}-weights-{off}")  # noqa: S311 - a simulation that can be repeated
    factor: dict[str, float] = {}
    number = 0
    while tally.runs < runs:
        number += 1
        chance = random.Random(f"{seed}-{off}-{number}")  # noqa: S311
        case = case_of(chance.choice(wirings))
        names = sorted(set(case.conditions) - SOUND_ONES)
        for name in names:
            factor.setdefault(name, weights.choice((off, 1 / off)))
        stated = [1.0 if off == 1 else case.conditions[name].prior * factor[name] for name in names]
        truth = chance.choices(names, stated)[0]
        unit = _unit(case, truth, chance, f"{seed}-{off}-{number}")
        found, asked, minutes = played(case, unit, tests, from_loop_check=chance.random() < 0.5)
        if unit.showed:
            _count(tally, found, truth, asked, minutes)
        if passes:
            through_loop_check(unit.row, unit.seed, tally)
    return tally


def slips(runs: int, seed: int, tests: Sequence[BenchTest]) -> Tally:
    """Sound units whose person slips once, at some trial of the loop check."""
    return _sound(runs, f"{seed}-slip", tests, lambda chance: (SOUND, frozenset({chance.randrange(2 * CYCLES)}), 0.0))


def sticking(runs: int, seed: int, tests: Sequence[BenchTest]) -> Tally:
    """Levers that stick in 10 to 30 % of all withdrawals."""
    return _sound(runs, f"{seed}-stick", tests, lambda chance: ("lever-sticky", frozenset(), chance.uniform(0.1, 0.3)))


def _sound(
    runs: int,
    seed: str,
    tests: Sequence[BenchTest],
    draw: Callable[[random.Random], tuple[str, frozenset[int], float]],
) -> Tally:
    wirings, tally = working_wirings(), Tally()
    for number in range(runs):
        chance = random.Random(f"{seed}-{number}")  # noqa: S311 - a simulation that can be repeated
        case = case_of(chance.choice(wirings))
        truth, slipping, departing = draw(chance)
        row = case.explanations.candidates[truth].row
        sound = case.explanations.candidates[SOUND].row
        unit = Unit(row, sound, chance.uniform(0, 0.02), departing, f"{seed}-{number}", whole=True, slips=slipping)
        begins = bool(slipping) or number % 2 == 0
        found, asked, minutes = played(case, unit, tests, from_loop_check=begins)
        _count(tally, found, SLIPPED if slipping else truth, asked, minutes)
    return tally


def declarations(runs: int, seed: int, tests: Sequence[BenchTest]) -> Tally:
    """Sound units of which contact, pull or absent level was declared wrong."""
    wirings, tally, number = working_wirings(), Tally(), 0
    while tally.runs < runs:
        number += 1
        chance = random.Random(f"{seed}-declared-{number}")  # noqa: S311 - a simulation that can be repeated
        case = case_of(chance.choice(wirings))
        wrong = [name for name, condition in case.conditions.items() if len(condition.denies) == 1]
        truth = chance.choice(sorted(wrong))
        unit = _unit(case, truth, chance, f"{seed}-declared-{number}")
        found, asked, minutes = played(case, unit, tests, from_loop_check=chance.random() < 0.5)
        if unit.showed:
            named = next((name for name in found.groups[0].members if case.conditions[name].denies), "")
            _count(tally, found, named or truth, asked, minutes)
    return tally


def double(runs: int, seed: int, tests: Sequence[BenchTest]) -> Tally:
    """Two faults at once: each test shows what either of them makes of it."""
    wirings, tally = working_wirings(), Tally()
    for number in range(runs):
        chance = random.Random(f"{seed}-double-{number}")  # noqa: S311 - a simulation that can be repeated
        case = case_of(chance.choice(wirings))
        one, two = chance.sample(sorted(set(case.conditions) - SOUND_ONES), 2)
        rows = [case.explanations.candidates[name].row for name in (SOUND, one, two)]
        row = {test: rows[2][test] if rows[1][test] == rows[0][test] else rows[1][test] for test in rows[0]}
        unit = Unit(row, rows[0], chance.uniform(0, 0.02), chance.uniform(0.1, 0.6), f"{seed}-double-{number}")
        found, asked, minutes = played(case, unit, tests, from_loop_check=chance.random() < 0.5)
        _count(tally, found, one if _first(found, one) else two, asked, minutes)
    return tally


def _unit(case: Case, truth: str, chance: random.Random, seed: str) -> Unit:
    row, sound = (case.explanations.candidates[name].row for name in (truth, SOUND))
    whole = truth in WHOLE
    lapses = 0.0 if whole or chance.random() < 0.5 else chance.uniform(0.04, 0.2)
    return Unit(row, sound, chance.uniform(0, 0.02), chance.uniform(0.1, 0.6), seed, whole=whole, lapses=lapses)


def _count(tally: Tally, found: Diagnosis, truth: str, asked: int, minutes: float) -> None:
    first = found.groups[0]
    tally.runs += 1
    tally.asked += asked
    tally.minutes += minutes
    tally.decided += found.decided
    right = _first(found, truth)
    tally.right += right
    sure, sound = first.weight > CONFIDENT, bool(SOUND_ONES & set(first.members))
    tally.wrong_and_sure += sure and not right
    tally.fault_and_sure += sure and not sound
    tally.sound_and_sure += sure and sound
    tally.confusion[truth, "right" if right else first.members[0]] += 1


def through_loop_check(row: Mapping[str, Expectation], seed: str, tally: Tally) -> None:
    """A full loop check on the unit, held against the plan as the tool does."""
    unit, plan = Unit(row, row, 0.0, 0.6, f"{seed}-loop"), Plan(seed=0)

    def read(probe: Probe, power_up: int, readings: int) -> tuple[Reading, ...]:
        seen = unit.answer(BenchTest(probe.value, readings), power_up)
        active = 0 if seen.restarted else seen.positives
        lost = readings if seen.restarted else 0
        inactive = readings - active - lost
        return (Reading.ACTIVE,) * active + (Reading.INACTIVE,) * inactive + (Reading.UNKNOWN,) * lost

    def moved(presence: Presence, probe: Probe) -> TimedTrial:
        dwell = _timed(read(probe, 0, plan.readings_per_dwell), plan.dwell_s)
        return TimedTrial(presence, moved=True, before=(), dwell=dwell)

    both = ((Presence.IN, Probe.FILAMENT_IN), (Presence.OUT, Probe.FILAMENT_OUT))
    trials = [moved(presence, probe) for _ in range(plan.cycles) for presence, probe in both]
    wiggle = read(Probe.CABLE_WORKED, 0, plan.wiggle_readings)
    unplugged = tuple(
        UnpluggedResult(
            read(Probe.UNPLUGGED_AT_BOARD, number, plan.readings_per_dwell), watched=True, power=PowerSeen.POWER_OFF
        )
        for number in range(1, plan.power_ups + 1)
    )
    polarity = weigh([TrialResult(trial.presence, trial.majority) for trial in trials]).behaviour
    counts = Counts.of(trials, polarity)
    kinds = {presence: counts.kind(presence) for presence in Presence}
    evidence = LoopEvidence(
        polarity=polarity,
        in_trials=len(kinds[Presence.IN]),
        in_misreads=kinds[Presence.IN].count(Came.WRONG),
        out_trials=len(kinds[Presence.OUT]),
        out_misreads=kinds[Presence.OUT].count(Came.WRONG),
        unwanted_changes_in_dwells=counts.dwell_changes,
        unread_trials=counts.number(Came.UNREAD),
        leave_it_trials=10,
        leave_it_changes=0,
        wiggle=wiggled(_timed(wiggle, plan.wiggle_s), plan.wiggle_s),
        unplugged=unplugged,
        pull=PullResult(PullConclusion.PROVEN, "The pull was proven."),
    )
    if accept(plan, evidence).verdict is Verdict.PASS:
        tally.passed += 1
        tally.passed_unsteady += any(result.steady is not Reading.INACTIVE for result in unplugged)
        tally.passed_by_chance += row[Probe.UNPLUGGED_AT_BOARD.value].sign is not Sign.NEGATIVE


def _timed(readings: Sequence[Reading], seconds: float) -> tuple[Sample, ...]:
    """Readings spread over that time."""
    return tuple(Sample(seconds * number / (len(readings) - 1), reading) for number, reading in enumerate(readings))


def _first(found: Diagnosis, truth: str) -> bool:
    return truth in found.groups[0].members and found.odds > 1


def report(title: str, tally: Tally, *, names: bool = False, passes: bool = False) -> str:
    """The figures as text."""
    runs = max(1, tally.runs)
    lines = [
        f"{title}: {tally.runs} runs",
        f"  true class first          {tally.right / runs:7.1%}",
        f"  another one above 90 %    {tally.wrong_and_sure / runs:7.1%}   ({tally.wrong_and_sure})",
        f"  a fault above 90 %        {tally.fault_and_sure / runs:7.1%}   ({tally.fault_and_sure})",
        f"  called sound above 90 %   {tally.sound_and_sure / runs:7.1%}   ({tally.sound_and_sure})",
        f"  tests asked on average    {tally.asked / runs:7.2f}",
        f"  minutes on average        {tally.minutes / runs:7.1f}",
    ]
    return "\n".join([*lines, *(_passes(tally) if passes else []), *(_confusion(tally) if names else [])])


def _passes(tally: Tally) -> list[str]:
    return [
        f"  passes of a loop check    {tally.passed:5}",
        f"    not steadily out        {tally.passed_unsteady:5}   (unplugged; must be none)",
        f"    stuck at out by chance  {tally.passed_by_chance:5}   (nothing holds the input; no reading can tell)",
    ]


def _confusion(tally: Tally) -> list[str]:
    lines = ["  by the true condition:"]
    for truth in sorted({truth for truth, _ in tally.confusion}):
        row = {found: count for (true, found), count in tally.confusion.items() if true == truth}
        wrong = ", ".join(f"{found} {count}" for found, count in sorted(row.items()) if found != "right")
        lines.append(f"    {truth:<20} right {row.get('right', 0):>3} of {sum(row.values()):>3}   {wrong}".rstrip())
    return lines


def main() -> None:
    """Read the options, play, print."""
    options = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    options.add_argument("--runs", type=int, default=1000)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--no-meter", action="store_true", help="leave the meter out")
    options.add_argument("--only", choices=PARTS, action="append", help="this part alone; may be given more than once")
    given = options.parse_args()
    tests, few = bench_tests(meter=not given.no_meter), max(1, given.runs // 5)
    print(f"seed {given.seed}, {'without' if given.no_meter else 'with'} a meter", flush=True)
    play: dict[str, Callable[[], Tally]] = {
        "faults": lambda: faults(given.runs, given.seed, tests, off=1, passes=True),
        "skewed": lambda: faults(given.runs, given.seed, tests, off=5, passes=False),
        "slips": lambda: slips(few, given.seed, tests),
        "declarations": lambda: declarations(few, given.seed, tests),
        "sticking": lambda: sticking(few, given.seed, tests),
        "double": lambda: double(few, given.seed, tests),
    }
    unsteady = 0
    for part in given.only or PARTS:
        tally = play[part]()
        print(report(TITLES.get(part, part), tally, names=part in TITLES, passes=part == "faults"), flush=True)
        unsteady += tally.passed_unsteady
    if unsteady:
        raise SystemExit(1)


if __name__ == "__main__":
    main()
