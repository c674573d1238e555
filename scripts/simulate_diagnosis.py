"""Play the diagnosis on simulated faults: every condition on every wiring that works when it is sound.

Usage: python scripts/simulate_diagnosis.py [--runs 1000] [--seed 1] [--no-meter]

Each run draws a wiring, a condition (all alike, not by their priors), and a noise of up to 2 % per reading; tests are
asked for one by one until the diagnosis stops. Printed: how often the true class comes out alone in front, the ceiling
(the same with every safe test done as often as the rules allow), the tests asked against a fixed order with the same
stopping rule, the sizes of the classes, and the confusion table.

Each unit also goes through a full loop check without noise, held against the plan: printed are the passes, those among
them that did not read out at every unplugged reading (none, or the program ends with 1), and those whose unplugged
input is not held and stuck at out in both power-ups by chance, which no reading can tell.
"""

from __future__ import annotations

import argparse
import random
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import permutations, product

from commission.judge.acceptance import accept
from commission.judge.diagnosis import BenchTest, Diagnosis, Observation, classes, diagnose, posterior
from commission.judge.evidence import LoopEvidence, wiggled
from commission.judge.evidence import tally as tally_trials
from commission.judge.expectation import Expectation, Sign
from commission.judge.failsafe import UnpluggedResult
from commission.judge.next_test import DEFAULT_RULES, choose, next_power_up, unsafe_tests
from commission.judge.plan import Plan
from commission.judge.polarity import TrialResult, majority, weigh
from commission.judge.power import PowerSeen
from commission.judge.stability import Sample, unwanted_changes
from commission.procedure.wiring.candidates import Case, bench_tests, case_of
from commission.vocabulary import Contact, Level, Polarity, Presence, Pull, Reading, Verdict
from commission.wiring.assessment import assess
from commission.wiring.installation import (
    Changeover,
    DryContact,
    Installation,
    OpenCollector,
    PullBy,
    PushPull,
    Sensor,
    Terminal,
)
from commission.wiring.parts import SensorKind, parts
from commission.wiring.prediction import Probe


@dataclass
class Tally:
    """What came out of many runs."""

    runs: int = 0
    right: int = 0
    ceiling: int = 0
    asked: int = 0
    fixed_asked: int = 0
    fixed_right: int = 0
    decided: int = 0
    passed: int = 0
    passed_unsteady: int = 0
    passed_by_chance: int = 0
    sizes: Counter[int] = field(default_factory=Counter)
    confusion: Counter[tuple[str, str]] = field(default_factory=Counter)


def working_wirings() -> list[Installation]:
    """Every wiring that reads right when it is sound, on a 3.3 V board."""
    sensors: list[Sensor] = [
        *(DryContact(c, to, p) for c, to, p in product(Contact, (Terminal.GROUND, Terminal.SUPPLY), Presence)),
        *(Changeover(a, b, c, pressed) for (a, b, c), pressed in product(permutations(Terminal), Presence)),
        *(OpenCollector(presence) for presence in Presence),
        *(PushPull(level) for level in (Level.HIGH, Level.LOW)),
    ]
    levels = (Level.HIGH, Level.LOW)
    wired = [_wired(*choice) for choice in product(sensors, Pull, PullBy, levels)]
    return [installation for installation in wired if assess(installation).polarity is Polarity.DIRECT]


def simulate(runs: int, seed: int, *, meter: bool) -> Tally:
    """Play that many faults."""
    wirings, tests, tally = working_wirings(), bench_tests(meter=meter), Tally()
    for number in range(runs):
        chance = random.Random(f"{seed}-{number}")  # noqa: S311 - a simulation that can be repeated
        case = case_of(chance.choice(wirings))
        truth = chance.choice(sorted(case.table))
        unit = Unit(case.table[truth], chance.uniform(0.0, 0.02), f"{seed}-{number}")
        _play(case, truth, unit, tests, tally)
    return tally


@dataclass
class Unit:
    """A simulated unit: it answers a test as its condition has it, with noise, and remembers where it sticks."""

    row: Mapping[str, Expectation]
    noise: float
    seed: str

    def answer(self, test: BenchTest, power_up: int, repeat: int) -> Observation:
        """What the test shows; the same test in the same power-up and repeat shows the same again."""
        chance = random.Random(f"{self.seed}-{test.name}-{power_up}-{repeat}")  # noqa: S311
        expected = self.row[test.name]
        signs = self._signs(expected, test.readings, chance)
        if Sign.RESTART in signs:
            return Observation(test.name, 0, test.readings, restarted=True, power_up=power_up)
        positives = sum(self._reading(sign, power_up, chance) for sign in signs)
        return Observation(test.name, positives, test.readings, power_up=power_up)

    def _signs(self, expected: Expectation, readings: int, chance: random.Random) -> list[Sign]:
        if expected.sometimes is None:
            return [expected.sign] * readings
        how = chance.random()
        if how < 0.4:
            return [expected.sign] * readings
        if how < 0.6:
            return [expected.sometimes] * readings
        return [chance.choice((expected.sign, expected.sometimes)) for _ in range(readings)]

    def _reading(self, sign: Sign, power_up: int, chance: random.Random) -> bool:
        if sign is Sign.FLOATING:
            held = random.Random(f"{self.seed}-power-up-{power_up}").random()  # noqa: S311
            if held < 0.5:
                return chance.random() < 0.5
            sign = Sign.POSITIVE if held < 0.75 else Sign.NEGATIVE
        return (sign is Sign.POSITIVE) is not (chance.random() < self.noise)


def asked_for(case: Case, unit: Unit, tests: Sequence[BenchTest]) -> tuple[Diagnosis, int]:
    """Ask by expected gain until it stops."""
    seen: list[Observation] = []
    while (choice := choose(case.table, case.priors, tests, seen)).test is not None:
        _see(unit, choice.test, tests, seen)
    return choice.diagnosis, len(seen)


def in_fixed_order(case: Case, unit: Unit, tests: Sequence[BenchTest]) -> tuple[Diagnosis, int]:
    """Ask in the same order every time, leaving out what is not safe, with the same rule for stopping."""
    seen: list[Observation] = []
    for test in [*tests] * DEFAULT_RULES.repeats:
        choice = choose(case.table, case.priors, tests, seen)
        if choice.test is None:
            break
        if test.name not in choice.unsafe:
            _see(unit, test, tests, seen)
    return choose(case.table, case.priors, tests, seen).diagnosis, len(seen)


def exhaustive(case: Case, unit: Unit, tests: Sequence[BenchTest]) -> Diagnosis:
    """Do every safe test as often as the rules allow: the best these tables can give."""
    seen: list[Observation] = []
    for test in [*tests] * DEFAULT_RULES.repeats:
        if test.name not in _unsafe(case, tests, seen):
            _see(unit, test, tests, seen)
    unsafe = _unsafe(case, tests, seen)
    return diagnose(case.table, case.priors, seen, [test.name for test in tests if test.name not in unsafe])


def _unsafe(case: Case, tests: Sequence[BenchTest], seen: Sequence[Observation]) -> tuple[str, ...]:
    return unsafe_tests(case.table, posterior(case.table, case.priors, seen), tests)


def _see(unit: Unit, test: BenchTest, tests: Sequence[BenchTest], seen: list[Observation]) -> None:
    repeat = sum(one.test == test.name for one in seen)
    seen.append(unit.answer(test, next_power_up(tests, seen, test), repeat))


def _play(case: Case, truth: str, unit: Unit, tests: Sequence[BenchTest], tally: Tally) -> None:
    found, asked = asked_for(case, unit, tests)
    fixed, fixed_asked = in_fixed_order(case, unit, tests)
    tally.runs += 1
    tally.asked += asked
    tally.fixed_asked += fixed_asked
    tally.right += _first(found, truth)
    tally.fixed_right += _first(fixed, truth)
    tally.ceiling += _first(exhaustive(case, unit, tests), truth)
    tally.decided += found.decided
    through_loop_check(unit.row, unit.seed, tally)
    tally.confusion[truth, "right" if _first(found, truth) else found.groups[0].members[0]] += 1
    for members in classes(case.table, [test.name for test in tests]):
        tally.sizes[len(members)] += truth in members


def through_loop_check(row: Mapping[str, Expectation], seed: str, tally: Tally) -> None:
    """A full loop check on the unit, held against the plan as the tool does."""
    unit, plan = Unit(row, 0.0, f"{seed}-loop"), Plan(seed=0)

    def read(probe: Probe, power_up: int, repeat: int, readings: int) -> tuple[Reading, ...]:
        seen = unit.answer(BenchTest(probe.value, readings), power_up, repeat)
        active = 0 if seen.restarted else seen.positives
        lost = readings if seen.restarted else 0
        inactive = readings - active - lost
        return (Reading.ACTIVE,) * active + (Reading.INACTIVE,) * inactive + (Reading.UNKNOWN,) * lost

    dwells = [
        (presence, read(probe, 0, cycle, plan.readings_per_dwell))
        for cycle in range(plan.cycles)
        for presence, probe in ((Presence.IN, Probe.FILAMENT_IN), (Presence.OUT, Probe.FILAMENT_OUT))
    ]
    trials = [TrialResult(presence, majority(readings)) for presence, readings in dwells]
    wiggle = read(Probe.CABLE_WORKED, 0, 0, plan.wiggle_readings)
    unplugged = tuple(
        UnpluggedResult(
            read(Probe.UNPLUGGED_AT_BOARD, number, 0, plan.readings_per_dwell), watched=True, power=PowerSeen.POWER_OFF
        )
        for number in range(1, plan.power_ups + 1)
    )
    polarity = weigh(trials).behaviour
    counts = tally_trials(trials, polarity)
    evidence = LoopEvidence(
        polarity=polarity,
        in_trials=counts.in_trials,
        in_misreads=counts.in_misreads,
        out_trials=counts.out_trials,
        out_misreads=counts.out_misreads,
        unwanted_changes_in_dwells=sum(unwanted_changes(readings) for _, readings in dwells),
        leave_it_trials=10,
        leave_it_changes=0,
        wiggle=wiggled(_timed(wiggle, plan.wiggle_s), plan.wiggle_s),
        unplugged=unplugged,
    )
    if accept(plan, evidence).verdict is Verdict.PASS:
        tally.passed += 1
        tally.passed_unsteady += any(result.steady is not Reading.INACTIVE for result in unplugged)
        tally.passed_by_chance += row[Probe.UNPLUGGED_AT_BOARD.value].sign is not Sign.NEGATIVE


def _timed(readings: Sequence[Reading], seconds: float) -> list[Sample]:
    """Readings spread over that time."""
    return [Sample(seconds * number / (len(readings) - 1), reading) for number, reading in enumerate(readings)]


def _first(found: Diagnosis, truth: str) -> bool:
    return truth in found.groups[0].members and found.odds > 1


def _wired(sensor: Sensor, pull: Pull, pull_by: PullBy, absent: Level) -> Installation:
    kinds = {OpenCollector: SensorKind.OPEN_COLLECTOR, PushPull: SensorKind.PUSH_PULL}
    kind = kinds.get(type(sensor), SensorKind.SWITCH)
    return Installation(kind, sensor, pull, pull_by, absent, 3.3, 3.3, parts().inputs["32-bit"])


def report(tally: Tally, *, meter: bool) -> str:
    """The figures as text."""
    lines = [
        f"{tally.runs} faults, {'with' if meter else 'without'} a meter",
        f"  true class alone first    {tally.right / tally.runs:7.1%}",
        f"  ceiling of these tables   {tally.ceiling / tally.runs:7.1%}",
        f"  share of the ceiling      {tally.right / tally.ceiling:7.1%}",
        f"  decided at 20 to 1        {tally.decided / tally.runs:7.1%}",
        f"  tests asked on average    {tally.asked / tally.runs:7.2f}",
        f"  in a fixed order          {tally.fixed_asked / tally.runs:7.2f}",
        f"    and right               {tally.fixed_right / tally.runs:7.1%}",
        f"  passes of a loop check    {tally.passed:5}",
        f"    not steadily out        {tally.passed_unsteady:5}   (unplugged; must be none)",
        f"    stuck at out by chance  {tally.passed_by_chance:5}   (nothing holds the input; no reading can tell)",
        "  size of the true class    "
        + ", ".join(f"{n}: {count}" for n, count in sorted(tally.sizes.items()) if count),
        "  confusion, by the true condition:",
    ]
    for truth in sorted({truth for truth, _ in tally.confusion}):
        row = {found: count for (true, found), count in tally.confusion.items() if true == truth}
        wrong = ", ".join(f"{found} {count}" for found, count in sorted(row.items()) if found != "right")
        lines.append(f"    {truth:<20} right {row.get('right', 0):>3} of {sum(row.values()):>3}   {wrong}".rstrip())
    return "\n".join(lines)


def main() -> None:
    """Read the options, play, print."""
    options = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    options.add_argument("--runs", type=int, default=1000)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--no-meter", action="store_true", help="leave the meter out")
    given = options.parse_args()
    tally = simulate(given.runs, given.seed, meter=not given.no_meter)
    print(report(tally, meter=not given.no_meter))
    if tally.passed_unsteady:
        raise SystemExit(1)


if __name__ == "__main__":
    main()
