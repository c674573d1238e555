"""The campaign's plant in time: what it does by chance is as often as it was told to be.

Shares are held within four standard deviations of the binomial; the seeds are fixed, so the tests are too.
"""

import math
import random
from collections.abc import Callable
from itertools import pairwise

import pytest

from scripts.commissioning.chance import chance_of
from scripts.commissioning.circuit import Clip, Form, Link, Rail, Wiring
from scripts.commissioning.plant import RAW_PER_S, Plant, Restarted, beats
from scripts.commissioning.unit import Cable, Loose, Unit

SLOW_BEAT_S = 0.1


def plant(unit: Unit, seed: int = 1, *, inside: bool = False) -> Plant:
    """The unit on its bench, with filament in or out and everything at rest."""
    found = Plant(unit, chance_of(seed))
    found.move(inside=inside)
    found.pass_s(1.0)
    return found


def share(of: Callable[[random.Random], bool], tries: int = 4000) -> float:
    """How often something happens."""
    chance = chance_of(5)
    return sum(of(chance) for _ in range(tries)) / tries


def near(expected: float, tries: int = 4000) -> object:
    """Within four standard deviations."""
    return pytest.approx(expected, abs=4 * math.sqrt(expected * (1 - expected) / tries))


def test_the_wire_brings_145_readings_a_second() -> None:
    """A reply of 79 bytes at 115200 baud takes 6.86 ms, so a question at once after the other is as dense as that."""
    dense = beats(1000, 0.0)

    assert 145.8 == pytest.approx(RAW_PER_S, abs=0.1)
    assert 999 * 79 * 10 / 115_200 == pytest.approx(dense[-1] - dense[0])


def test_a_slow_beat_takes_the_next_raw_reading() -> None:
    """Ten a second: each answer is complete one to two raw readings after its beat, none is skipped."""
    lags = [at_s - number * SLOW_BEAT_S for number, at_s in enumerate(beats(601, SLOW_BEAT_S))]

    assert all(1 <= round(lag * RAW_PER_S, 6) <= 2 for lag in lags)


def test_a_sound_unit_follows_the_filament() -> None:
    """It reads out, then in from the moment the filament passes the trip point, whatever the contact bounces."""
    sound = plant(Unit())
    sound.move(inside=True, after_s=0.5)
    found = sound.readings(beats(20, SLOW_BEAT_S))

    assert [False] * 5 == found[:5]
    assert [True] * 14 == found[6:]


def test_a_contact_bounces_and_comes_to_rest() -> None:
    """With a mean bounce of 20 ms dense readings see more than one change in some moves, and none after 0.3 s."""
    changes = []
    for seed in range(200):
        worn = plant(Unit(bounce_s=0.02), seed)
        worn.move(inside=True)
        found = worn.readings(beats(100, 0.0))
        changes.append(sum(a is not b for a, b in pairwise(found)))
        assert all(found[60:])

    assert 10 < sum(count > 1 for count in changes) < 190


def test_a_lever_sticks_as_often_as_said() -> None:
    """In 10 % of withdrawals the reading stays at in; insertions never fail."""

    def stays_in(chance: random.Random) -> bool:
        sticky = Plant(Unit(sticks_out=0.1), chance)
        sticky.move(inside=True)
        sticky.pass_s(1.0)
        assert all(sticky.readings((0.1,)))
        sticky.move(inside=False)
        sticky.pass_s(1.0)
        return sticky.readings((0.1,)) == [True]

    assert near(0.1) == share(stays_in)


def test_raw_noise_falls_on_single_readings() -> None:
    """Of readings that would all be out, 2 % read in, and runs of them are as short as chance makes them."""
    noisy = plant(Unit(noise=0.02))
    found = noisy.readings(beats(40_000, 0.0))
    twice = sum(a and b for a, b in pairwise(found))

    assert near(0.02, 40_000) == sum(found) / 40_000
    assert near(0.02**2, 40_000) == twice / 40_000


def test_answers_are_lost_as_often_as_said() -> None:
    """Of 40,000 answers 8 % cannot be understood, whatever they said, and the others come as they were."""
    poor = plant(Unit(unread=0.08))
    said = [number % 2 == 0 for number in range(40_000)]
    found = poor.understood(said)
    lost = [was for was, came in zip(said, found, strict=True) if came is None]

    assert near(0.08, 40_000) == len(lost) / 40_000
    assert near(0.5, len(lost)) == sum(lost) / len(lost)
    assert all(came in (None, was) for was, came in zip(said, found, strict=True))


@pytest.mark.parametrize("rate", [0.05, 0.5, 5.0])
def test_a_floating_input_flips_like_a_telegraph(rate: float) -> None:
    """After a time t it reads otherwise with (1 - exp(-2rt)) / 2, the odd terms of the Poisson distribution."""
    gap_s = 0.3
    loose = Unit(Wiring(pull=None, elsewhere=True), Loose(0.5, rate))

    def flipped(chance: random.Random) -> bool:
        first, second = Plant(loose, chance).readings((0.1, 0.1 + gap_s))
        return first is not second

    assert near(-math.expm1(-2 * rate * gap_s) / 2) == share(flipped)


def test_an_unheld_input_rests_by_power_up() -> None:
    """It comes to rest at out in three power-ups of ten, and stays there until the next one."""
    chance = chance_of(3)
    loose = Plant(Unit(Wiring(form=Form.CHANGEOVER, pull=None), Loose(0.3)), chance)
    loose.link = Link.OFF_AT_BOARD
    rests = []
    for _ in range(4000):
        loose.power_up()
        found = loose.readings(beats(21, SLOW_BEAT_S))
        assert len(set(found)) == 1
        rests.append(found[0])

    assert near(0.3) == rests.count(False) / 4000


def test_a_sensor_that_drives_hides_it() -> None:
    """A changeover contact on an input without a pull reads right plugged in; unplugged it reads what it rests at."""
    for rests_out, unplugged in ((1.0, False), (0.0, True)):
        driven = plant(Unit(Wiring(form=Form.CHANGEOVER, pull=None), Loose(rests_out)), inside=True)
        assert driven.readings((0.1,)) == [True]
        driven.link = Link.OFF_AT_BOARD
        assert driven.readings((0.1,)) == [unplugged]


def test_the_proof_resistor_moves_an_unheld_input() -> None:
    """Unplugged and resting at out, an input without a pull reads in as soon as 220 kΩ to ground is fitted."""
    loose = plant(Unit(Wiring(form=Form.CHANGEOVER, pull=None), Loose(1.0)))
    loose.link = Link.OFF_AT_BOARD
    bare = loose.readings((0.1,))
    loose.clip = Clip(220e3)

    assert ([False], [True]) == (bare, loose.readings((0.1,)))


def test_a_worked_cable_opens_as_often_as_said() -> None:
    """Open for 30 ms on average, twice a second: a share of rate x length / (1 + rate x length) of the time."""
    loose = plant(Unit(cable=Cable(0.0, 2.0, 0.03)), inside=True)
    still = loose.readings(beats(20_000, 0.0))
    loose.worked = True
    worked = loose.readings(beats(400_000, 0.0))

    assert all(still)
    assert 2 * 0.03 / (1 + 2 * 0.03) == pytest.approx(worked.count(False) / len(worked), rel=0.05)


def test_a_cable_stays_open_between_two_looks() -> None:
    """An opening longer than a stretch of readings goes on in the next one."""
    loose = plant(Unit(cable=Cable(5.0, 5.0, 50.0)), inside=True)
    loose.pass_s(10.0)

    assert [False] * 5 == loose.readings(beats(5, 0.1))
    assert [False] * 5 == loose.readings(beats(5, 0.1))


def test_a_shorted_supply_takes_the_board_down() -> None:
    """With filament out nothing happens; once the lever joins supply and ground the board restarts."""
    shorting = plant(Unit(Wiring(form=Form.CHANGEOVER, supply_short=True)), seed=_seed_with_filament_out())
    assert not any(shorting.readings(beats(10, SLOW_BEAT_S)))
    shorting.move(inside=True, after_s=0.2)

    with pytest.raises(Restarted):
        shorting.readings(beats(10, SLOW_BEAT_S))


def _seed_with_filament_out() -> int:
    """A seed with which the filament is out at first."""
    return next(seed for seed in range(100) if chance_of(seed).random() >= 0.5)


def test_a_touch_in_the_cable_goes_with_the_plug() -> None:
    """A signal that touches ground in the cable reads in until the plug is pulled at the board, not at the sensor."""
    chafed = plant(Unit(Wiring(shorted_to=Rail.GROUND)))
    found = []
    for link in Link:
        chafed.link = link
        found += chafed.readings((0.1,))

    assert [True, False, True] == found
