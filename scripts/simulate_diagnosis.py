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
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from commission.judge.diagnosis import BenchTest, Diagnosis
from commission.judge.next_test import choose, next_power_up
from commission.procedure.wiring.candidates import SLIPPED, SOUND, Case, bench_tests, case_of
from scripts.diagnosis.figures import SOUND_ONES, Figures, is_first, report
from scripts.diagnosis.loop_check import CYCLES, loop_check, through_loop_check
from scripts.diagnosis.units import Unit, working_wirings

WHOLE = frozenset({"lever-sticky"})
PARTS = ("faults", "skewed", "slips", "declarations", "sticking", "double")
TITLES = {"faults": "faults, all alike", "skewed": "faults, the stated priors five times off"}


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


def faults(runs: int, seed: int, tests: Sequence[BenchTest], *, off: float, passes: bool) -> Figures:
    """Single faults that showed at least once; each prior is taken `off` times too large or too small."""
    wirings, figures = working_wirings(), Figures()
    weights = random.Random(f"{seed}-weights-{off}")  # noqa: S311 - a simulation that can be repeated
    factor: dict[str, float] = {}
    number = 0
    while figures.runs < runs:
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
            figures.count(found, truth, asked, minutes)
        if passes:
            through_loop_check(unit.row, unit.seed, figures)
    return figures


def slips(runs: int, seed: int, tests: Sequence[BenchTest]) -> Figures:
    """Sound units whose person slips once, at some trial of the loop check."""
    return _sound(runs, f"{seed}-slip", tests, lambda chance: (SOUND, frozenset({chance.randrange(2 * CYCLES)}), 0.0))


def sticking(runs: int, seed: int, tests: Sequence[BenchTest]) -> Figures:
    """Levers that stick in 10 to 30 % of all withdrawals."""
    return _sound(runs, f"{seed}-stick", tests, lambda chance: ("lever-sticky", frozenset(), chance.uniform(0.1, 0.3)))


def _sound(
    runs: int,
    seed: str,
    tests: Sequence[BenchTest],
    draw: Callable[[random.Random], tuple[str, frozenset[int], float]],
) -> Figures:
    wirings, figures = working_wirings(), Figures()
    for number in range(runs):
        chance = random.Random(f"{seed}-{number}")  # noqa: S311 - a simulation that can be repeated
        case = case_of(chance.choice(wirings))
        truth, slipping, departing = draw(chance)
        row = case.explanations.candidates[truth].row
        sound = case.explanations.candidates[SOUND].row
        unit = Unit(row, sound, chance.uniform(0, 0.02), departing, f"{seed}-{number}", whole=True, slips=slipping)
        begins = bool(slipping) or number % 2 == 0
        found, asked, minutes = played(case, unit, tests, from_loop_check=begins)
        figures.count(found, SLIPPED if slipping else truth, asked, minutes)
    return figures


def declarations(runs: int, seed: int, tests: Sequence[BenchTest]) -> Figures:
    """Sound units of which contact, pull or absent level was declared wrong."""
    wirings, figures, number = working_wirings(), Figures(), 0
    while figures.runs < runs:
        number += 1
        chance = random.Random(f"{seed}-declared-{number}")  # noqa: S311 - a simulation that can be repeated
        case = case_of(chance.choice(wirings))
        wrong = [name for name, condition in case.conditions.items() if len(condition.denies) == 1]
        truth = chance.choice(sorted(wrong))
        unit = _unit(case, truth, chance, f"{seed}-declared-{number}")
        found, asked, minutes = played(case, unit, tests, from_loop_check=chance.random() < 0.5)
        if unit.showed:
            named = next((name for name in found.groups[0].members if case.conditions[name].denies), "")
            figures.count(found, named or truth, asked, minutes)
    return figures


def double(runs: int, seed: int, tests: Sequence[BenchTest]) -> Figures:
    """Two faults at once: each test shows what either of them makes of it."""
    wirings, figures = working_wirings(), Figures()
    for number in range(runs):
        chance = random.Random(f"{seed}-double-{number}")  # noqa: S311 - a simulation that can be repeated
        case = case_of(chance.choice(wirings))
        one, two = chance.sample(sorted(set(case.conditions) - SOUND_ONES), 2)
        rows = [case.explanations.candidates[name].row for name in (SOUND, one, two)]
        row = {test: rows[2][test] if rows[1][test] == rows[0][test] else rows[1][test] for test in rows[0]}
        unit = Unit(row, rows[0], chance.uniform(0, 0.02), chance.uniform(0.1, 0.6), f"{seed}-double-{number}")
        found, asked, minutes = played(case, unit, tests, from_loop_check=chance.random() < 0.5)
        figures.count(found, one if is_first(found, one) else two, asked, minutes)
    return figures


def _unit(case: Case, truth: str, chance: random.Random, seed: str) -> Unit:
    row, sound = (case.explanations.candidates[name].row for name in (truth, SOUND))
    whole = truth in WHOLE
    lapses = 0.0 if whole or chance.random() < 0.5 else chance.uniform(0.04, 0.2)
    return Unit(row, sound, chance.uniform(0, 0.02), chance.uniform(0.1, 0.6), seed, whole=whole, lapses=lapses)


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
    play: dict[str, Callable[[], Figures]] = {
        "faults": lambda: faults(given.runs, given.seed, tests, off=1, passes=True),
        "skewed": lambda: faults(given.runs, given.seed, tests, off=5, passes=False),
        "slips": lambda: slips(few, given.seed, tests),
        "declarations": lambda: declarations(few, given.seed, tests),
        "sticking": lambda: sticking(few, given.seed, tests),
        "double": lambda: double(few, given.seed, tests),
    }
    unsteady = 0
    for part in given.only or PARTS:
        figures = play[part]()
        print(report(TITLES.get(part, part), figures, names=part in TITLES, passes=part == "faults"), flush=True)
        unsteady += figures.passed_unsteady
    if unsteady:
        raise SystemExit(1)


if __name__ == "__main__":
    main()
