"""Hands at a sound sensor: what their pace saves, and what being late costs."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace

from commission.asking.request import Request, TakeTrial
from commission.asking.response import TimedReading, TrialTaken
from commission.judge.plan import Plan
from commission.judge.trial import Came
from commission.procedure.loop.trials import Series, run_series
from commission.vocabulary import Instruction, Presence
from scripts.pace.plans import BEAT_S, PLANS, READS

MEDIAN_S, P95_S = 0.9, 2.0
SIGMA = math.log(P95_S / MEDIAN_S) / 1.6448536269514722  # the 95th percentile of the normal law
LATE_S = (0.3, 1.5)


@dataclass(frozen=True)
class Somebody:
    """Who works the sensor: probability of a slip at each prompt; whether the hand keeps within the countdown."""

    slips: float
    keeps_up: bool

    @property
    def said(self) -> str:
        """In words."""
        return f"slips {100 * self.slips:.0f} %, {'keeps up' if self.keeps_up else 'own reaction'}"


@dataclass(frozen=True)
class HandsRow:
    """Of one person with a sound sensor: the share that can still pass, misreads, and minutes of prompts."""

    plan: str
    person: str
    runs: int
    can_pass: float
    misreads: float
    minutes: float
    clean_minutes: float

    @property
    def said(self) -> str:
        """In one line."""
        shares = f"can pass {100 * self.can_pass:5.1f} %  misreads {self.misreads:.2f} a run"
        minutes = f"{self.minutes:.2f} min, {self.clean_minutes:.2f} without a misread"
        return f"{self.person:24} {self.plan:22} {shares}  {minutes}, {self.runs} runs"


class Hands:
    """A person at a sound sensor, which reads what is in it."""

    def __init__(self, who: Somebody, chance: random.Random) -> None:
        self._who = who
        self._chance = chance
        self._inside = False
        self._pending: tuple[float, bool] | None = None
        self.prompts_s = 0.0

    def _act(self, asked: TakeTrial) -> tuple[float, bool] | None:
        """When the filament passes the switch and where it goes; None where nothing is done."""
        inside = asked.presence is Presence.IN
        at_s = self._chance.lognormvariate(math.log(MEDIAN_S), SIGMA)
        if self._who.keeps_up and at_s > asked.countdown_s - 0.2:
            at_s = (asked.countdown_s - 0.2) * self._chance.random()
        slipped = self._chance.random() < self._who.slips
        if asked.instruction is Instruction.LEAVE:
            return (at_s, not inside) if slipped else None
        if not slipped:
            return at_s, inside
        late = (asked.countdown_s + self._chance.uniform(*LATE_S), inside)
        return self._chance.choice((None, (at_s, not inside), late))

    def follow(self, asked: TakeTrial) -> TrialTaken:
        """The trial as it is read."""
        if self._pending is not None:
            self._inside, self._pending = self._pending[1], None
        act, end_s = self._act(asked), asked.countdown_s + asked.dwell_s
        self.prompts_s += end_s
        was, when_s = self._inside, math.inf
        if act is not None and act[1] is not was:
            when_s = act[0]
            if when_s > end_s:
                self._pending = act
            else:
                self._inside = act[1]
        before = tuple(self._read(BEAT_S * n, was, when_s) for n in range(1, int(asked.countdown_s / BEAT_S)))
        gap_s = asked.dwell_s / (asked.readings - 1)
        dwell = tuple(self._read(asked.countdown_s + gap_s * n, was, when_s) for n in range(asked.readings))
        return TrialTaken(before, dwell)

    def _read(self, at_s: float, was: bool, when_s: float) -> TimedReading:  # noqa: FBT001 - where the filament was
        return TimedReading(at_s, READS[was if at_s < when_s else not was], "")


def hands_run(plan: Plan, who: Somebody, chance: random.Random) -> tuple[bool, int, float]:
    """Whether a pass is still within reach, misreads, and minutes, of the tool's own series of trials."""
    plan = replace(plan, seed=chance.randrange(2**32))
    person, steps = Hands(who, chance), run_series(plan, "filament")
    try:
        request: Request = steps.send(None)
        while True:
            request = steps.send(person.follow(request) if isinstance(request, TakeTrial) else None)
    except StopIteration as end:
        series: Series = end.value
    wrong = series.counts.number(Came.WRONG)
    return series.can_pass(plan), wrong, person.prompts_s / 60


def hands(name: str, who: Somebody, runs: int, seed: int) -> HandsRow:
    """All runs of one person; the same for the same seed."""
    chance = random.Random(f"{seed} {who}")  # noqa: S311 - repeatable on purpose
    done = [hands_run(PLANS[name], who, chance) for _ in range(runs)]
    clean = [minutes for _, wrong, minutes in done if not wrong]
    return HandsRow(
        plan=name,
        person=who.said,
        runs=runs,
        can_pass=sum(can for can, _, _ in done) / runs,
        misreads=sum(wrong for _, wrong, _ in done) / runs,
        minutes=sum(minutes for _, _, minutes in done) / runs,
        clean_minutes=sum(clean) / max(1, len(clean)),
    )
