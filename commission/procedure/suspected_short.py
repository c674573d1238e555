"""A supply that may be shorted through the switch: the meter decides first, and nothing is plugged in before.

One restart is a suspicion. It stands until the meter has shown supply and ground apart with filament in and with
filament out; a meter that shows them joined makes it a finding.
"""

from collections.abc import Sequence
from dataclasses import replace

from commission.judge.diagnosis import BenchTest, Observation
from commission.judge.next_test import Choice
from commission.wiring.prediction import Probe

DECIDERS = (Probe.METER_SUPPLY_IN.value, Probe.METER_SUPPLY_OUT.value)
OFF_THE_BOARD = (Probe.UNPLUGGED_AT_BOARD.value, Probe.BRIDGED.value)
"""The tests for which the sensor stays unplugged at the board."""
JOINED = "The meter shows supply and ground joined: nothing is plugged in before that is put right."
METER_FIRST = "After a restart the meter decides first: from supply to ground, with filament in and with filament out."
STAYS_OUT = "Without a meter the sensor stays unplugged: only tests for which it may are asked for."


def shorted(seen: Sequence[Observation]) -> bool:
    """Whether the meter last showed supply and ground joined, with filament in or out."""
    newest = {one.test: one for one in seen if one.test in DECIDERS}
    return any(one.positives > 0 for one in newest.values())


def undecided(seen: Sequence[Observation]) -> tuple[str, ...]:
    """The readings of the meter that a restart calls for and that are not there yet; none without a restart."""
    restarts = [place for place, one in enumerate(seen) if one.restarted]
    if not restarts:
        return ()
    done = {one.test for one in seen[restarts[-1] + 1 :]}
    return tuple(name for name in DECIDERS if name not in done)


def may_be_plugged_in(seen: Sequence[Observation]) -> bool:
    """Whether nothing that was seen forbids it."""
    return not shorted(seen) and not undecided(seen)


def safe_choice(choice: Choice, tests: Sequence[BenchTest], seen: Sequence[Observation]) -> Choice:
    """The next test as the weighing chose it, unless a short has to be decided first.

    Args:
        choice: by what each test tells.
        tests: those at hand.
        seen: what was seen, oldest first.
    """
    if shorted(seen):
        return replace(choice, test=None, gain_bits=0.0, reason=JOINED)
    wanted = undecided(seen)
    if not wanted:
        return choice
    meter = next((test for test in tests if test.name in wanted), None)
    if meter is not None:
        return replace(choice, test=meter, gain_bits=0.0, reason=METER_FIRST)
    kept = choice.test if choice.test is not None and choice.test.name in OFF_THE_BOARD else None
    return replace(choice, test=kept, gain_bits=choice.gain_bits if kept else 0.0, reason=STAYS_OUT)
