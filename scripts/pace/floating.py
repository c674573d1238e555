"""Inputs that float, and the pace they seem to show: how often one is named direct or inverted."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field, replace
from functools import cache

from commission.judge.pace import countdown_s
from commission.judge.plan import Plan
from commission.judge.polarity import LEAST_CYCLES, MOST_CYCLES, TrialResult, look
from commission.judge.schedule import prompts
from commission.judge.stability import Sample
from commission.judge.trial import TimedTrial
from commission.vocabulary import Instruction, Presence, SwitchBehaviour
from scripts.pace.plans import BEAT_S, FIXED, PLANS, READS

SCHEDULES, HELD_AGAINST = 500, 20


@dataclass
class Pace:
    """The rule once more: the 95th percentile is the longest of fewer than twenty, then of all but the longest ..."""

    plan: Plan
    times: list[float] = field(default_factory=list)
    late: bool = False

    @property
    def countdown_s(self) -> float:
        """For the next prompt."""
        if not self.plan.own_pace or self.late or len(self.times) < 6:
            return self.plan.countdown_s
        kept = sorted(self.times)[: len(self.times) - len(self.times) // 20]
        return min(self.plan.countdown_s, round(max(1.5, 1.3 * kept[-1]) + 0.5, 2))


@dataclass(frozen=True)
class FloatingRow:
    """Of the runs of one rate, the shares in which a polarity was named; seconds of the countdowns on average."""

    plan: str
    flips_per_s: float
    runs: int
    direct: float
    inverted: float
    countdown_s: float

    @property
    def said(self) -> str:
        """In one line."""
        shares = f"direct {100 * self.direct:.3f} %  inverted {100 * self.inverted:.3f} %"
        flips = f"{self.flips_per_s:5g} flips/s"
        return f"{self.plan:22} {flips}  {shares}  countdown {self.countdown_s:.2f} s on average, {self.runs} runs"


@cache
def _look(cycles: int, active_in: int, active_out: int) -> SwitchBehaviour:
    trials = [
        TrialResult(presence, READS[number < active])
        for presence, active in ((Presence.IN, active_in), (Presence.OUT, active_out))
        for number in range(cycles)
    ]
    return look(trials, cycles_done=cycles, needed_odds=FIXED.needed_odds).behaviour


class Telegraph:
    """An input that flips by itself."""

    def __init__(self, flips_per_s: float, chance: random.Random) -> None:
        self._rate = flips_per_s
        self._chance = chance
        self._active = chance.random() < 0.5

    def trial(self, plan: Plan, count_s: float) -> tuple[bool, bool, float | None, bool]:
        """Majority; what the prompt began with; the time to the reading that stays, if it did change; late."""
        began, flips, at_s = self._active, [], self._chance.expovariate(self._rate)
        while at_s <= count_s + plan.dwell_s:
            flips.append(at_s)
            at_s += self._chance.expovariate(self._rate)
        self._active = began ^ (len(flips) % 2 == 1)
        if not flips:
            return began, began, None, False
        gap_s = plan.dwell_s / (plan.readings_per_dwell - 1)
        dwell, place, now = [], 0, began
        for number in range(plan.readings_per_dwell):
            while place < len(flips) and flips[place] <= count_s + number * gap_s:
                now, place = not now, place + 1
            dwell.append(now)
        time_s = None
        if now is not began:
            last_s = flips[place - 1]
            time_s = math.ceil(last_s / BEAT_S) * BEAT_S if last_s < count_s else last_s
        return 2 * sum(dwell) > len(dwell), began, time_s, dwell[0] is not dwell[-1]


def floating_run(plan: Plan, order_seed: int, flips_per_s: float, chance: random.Random, *, held: bool) -> list[float]:
    """The countdowns of one run, and last of all 0 where no polarity was named, 1 for direct, 2 for inverted."""
    pace, line, shown = Pace(plan), Telegraph(flips_per_s, chance), list[TimedTrial]()
    active, moves, counted = {Presence.IN: 0, Presence.OUT: 0}, 0, list[float]()
    for prompt in prompts(replace(FIXED, seed=order_seed), Presence.OUT):
        count_s = pace.countdown_s
        if held and count_s != countdown_s(plan, shown):
            raise AssertionError(f"The tool counts down {countdown_s(plan, shown)} s here, not {count_s} s.")
        counted.append(count_s)
        majority, began, time_s, late = line.trial(plan, count_s)
        moved = prompt.instruction is not Instruction.LEAVE
        if held:
            shown.append(_shown(moved=moved, began=began, time_s=time_s, late=late))
        if not moved:
            continue
        pace.times += [] if time_s is None else [round(time_s, 4)]
        pace.late |= late
        moves += 1
        active[prompt.presence] += majority
        cycles, half = divmod(moves, 2)
        if not half and LEAST_CYCLES <= cycles <= MOST_CYCLES:
            found = _look(cycles, active[Presence.IN], active[Presence.OUT])
            if found is not SwitchBehaviour.UNDECIDED:
                named = {SwitchBehaviour.DIRECT: 1.0, SwitchBehaviour.INVERTED: 2.0}
                return [*counted, named.get(found, 0.0)]
    return [*counted, 0.0]


def _shown(*, moved: bool, began: bool, time_s: float | None, late: bool) -> TimedTrial:
    """The least of a trial that says the same of the pace."""
    end = began if time_s is None else not began
    before = (Sample(0.0, READS[began]),) + (() if time_s is None else (Sample(time_s, READS[end]),))
    dwell = (Sample(9.0, READS[not end if late else end]), Sample(9.1, READS[end]))
    if late and time_s is not None:
        before, dwell = before[:1], (Sample(0.1, READS[began]), Sample(time_s, READS[end]))
    return TimedTrial(Presence.IN, moved, before, dwell)


def floating(name: str, flips_per_s: float, runs: int, seed: int) -> FloatingRow:
    """All runs of one rate; the same for the same seed."""
    chance = random.Random(f"{seed} {name} {flips_per_s}")  # noqa: S311 - repeatable on purpose
    seeds = [chance.randrange(2**32) for _ in range(min(runs, SCHEDULES))]
    named, total_s, count = [0, 0, 0], 0.0, 0
    for number in range(runs):
        order_seed = seeds[number % len(seeds)]
        *counted, found = floating_run(PLANS[name], order_seed, flips_per_s, chance, held=number < HELD_AGAINST)
        named[int(found)] += 1
        total_s, count = total_s + sum(counted), count + len(counted)
    return FloatingRow(name, flips_per_s, runs, named[1] / runs, named[2] / runs, total_s / count)
