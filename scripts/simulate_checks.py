"""How often the periodic check raises a false alarm, and how soon it notices a switch that wears: seeded histories.

Each history is an installation and ten brief checks after it. A move settles after the switch has chattered for a time
that differs from move to move; the tool polls ten times a second and sees only what its polls meet. The limits are
those of commission.judge.condition:

Every history has a switch and a hand of its own: the mean chatter at the installation is drawn between 5 ms (a sound
switch pushed briskly) and 150 ms (a hand that hesitates at the trip point).

- steady: all stays as it was installed; an alarm in any of the ten checks is a false one;
- slow: from the first check on it chatters three times as long as the limit;
- misreading: from the first check on it misreads at three times the limit for the share of misreads.

    python scripts/simulate_checks.py --histories 200
"""

import argparse
import math
import random
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace

from commission.judge.condition import (
    GAPS_LIMIT,
    GROWTH_LIMIT,
    Measured,
    condition_criteria,
    overall,
)
from commission.judge.measuring import Circumstances, measure
from commission.judge.stability import Sample
from commission.judge.trial import TimedTrial
from commission.vocabulary import Presence, Reading, SwitchBehaviour, Verdict

NEEDED = ("misreads", "steadiness")
BEYOND = ("time to pause",)
"""No pause is provoked in these checks."""
GAP_S = 0.1
CHECKS = 10
INSTALL_CYCLES, CHECK_CYCLES = 20, 6
COUNTDOWN_S, READINGS = 5.0, 21
REACTION_S = (0.5, 3.0)
CHATTER_S = (0.005, 0.15)
"""Bounce of a sound micro switch is a few milliseconds; common practice, no source. The rest is the hand."""
POLL_JITTER_S = 0.01
MISREAD_SHARE_LIMIT = 0.05
"""A rate at which a switch is beyond use: one misread in twenty."""


@dataclass(frozen=True)
class Switch:
    """A simulated switch in somebody's hands.

    Attributes:
        chatter_s: mean length of the chatter after a move, in seconds; exponential from move to move.
        misreads: probability that a trial is misread through and through.
    """

    chatter_s: float
    misreads: float = 0.0


@dataclass(frozen=True)
class Rates:
    """What the simulation came to."""

    histories: int
    false_alarms: int
    slow_found: int
    misreading_found: int

    @property
    def false_alarm_share(self) -> float:
        """Steady histories with an alarm in any check."""
        return self.false_alarms / self.histories


def trial(switch: Switch, presence: Presence, chance: random.Random) -> TimedTrial:
    """One trial as the tool takes it: readings through the countdown, then the dwell, whatever they show."""
    right = Reading.ACTIVE if presence is Presence.IN else Reading.INACTIVE
    wrong = Reading.INACTIVE if presence is Presence.IN else Reading.ACTIVE
    if chance.random() < switch.misreads:
        right = wrong
    moved_s = chance.uniform(*REACTION_S)
    steady_s = moved_s + chance.expovariate(1 / switch.chatter_s)
    samples = []
    for poll in range(int(COUNTDOWN_S / GAP_S) + READINGS):
        at_s = poll * GAP_S + chance.uniform(0, POLL_JITTER_S)
        if at_s < moved_s:
            reading = wrong
        elif at_s < steady_s:
            reading = chance.choice((right, wrong))
        else:
            reading = right
        samples.append(Sample(at_s, reading))
    cut = len(samples) - READINGS
    return TimedTrial(presence, moved=True, before=tuple(samples[:cut]), dwell=tuple(samples[cut:]))


def check(switch: Switch, cycles: int, label: str, chance: random.Random) -> Measured:
    """One check of so many cycles."""
    trials = [trial(switch, presence, chance) for _ in range(cycles) for presence in (Presence.IN, Presence.OUT)]
    return measure(trials, (), SwitchBehaviour.DIRECT, Circumstances(label))


def steady(installed: Switch) -> Switch:
    """Nothing changes."""
    return installed


def slow(installed: Switch) -> Switch:
    """It chatters three times as long as the limit that follows from how it was installed."""
    limit_s = max(GROWTH_LIMIT * installed.chatter_s, GAPS_LIMIT * GAP_S)
    return replace(installed, chatter_s=3 * limit_s)


def misreading(installed: Switch) -> Switch:
    """It misreads three times as often as the limit."""
    return replace(installed, misreads=3 * MISREAD_SHARE_LIMIT)


def first_alarm(change: Callable[[Switch], Switch], seed: int) -> int | None:
    """Which of the ten checks after a sound installation is the first to raise an alarm, from 1; None for none."""
    # a repeatable history is the purpose here; nothing secret depends on it
    chance = random.Random(seed)  # noqa: S311
    least, most = CHATTER_S
    installed = Switch(math.exp(chance.uniform(math.log(least), math.log(most))))
    history = [check(installed, INSTALL_CYCLES, "installation", chance)]
    switch = change(installed)
    for number in range(1, CHECKS + 1):
        now = check(switch, CHECK_CYCLES, f"check {number}", chance)
        if overall(condition_criteria(history, now), NEEDED, BEYOND) is not Verdict.PASS:
            return number
        history.append(now)
    return None


def found_soon(change: Callable[[Switch], Switch], histories: int, seed: int) -> int:
    """In how many histories one of the first two checks raises an alarm."""
    alarms = [first_alarm(change, seed + i) for i in range(histories)]
    return sum(alarm is not None and alarm <= 2 for alarm in alarms)


def simulate(histories: int, seed: int) -> Rates:
    """So many histories of each kind; the same for the same seed."""
    alarms = [first_alarm(steady, seed + i) for i in range(histories)]
    return Rates(
        histories,
        sum(alarm is not None for alarm in alarms),
        found_soon(slow, histories, seed + histories),
        found_soon(misreading, histories, seed + 2 * histories),
    )


def main() -> int:
    """Print the rates; exit code 1 when one is not as good as it shall be."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--histories", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    rates = simulate(options.histories, options.seed)
    n = rates.histories
    print(f"Steady histories of {CHECKS} checks with an alarm: {rates.false_alarms} of {n} (at most 5 %).")
    print(f"Settle time at three times its limit, found within two checks: {rates.slow_found} of {n} (at least 80 %).")
    print(f"Misreads at three times their limit, found within two checks: {rates.misreading_found} of {n} (likewise).")
    good = rates.false_alarm_share <= 0.05 and min(rates.slow_found, rates.misreading_found) >= 0.8 * n
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
