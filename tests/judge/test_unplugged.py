"""Was the sensor really unplugged, and was the power seen to be off?"""

from itertools import product

import pytest

from commission.judge.power import PowerSeen, power_seen
from commission.judge.unplugged import MOVES, Move, follows
from commission.vocabulary import Presence, Reading

ON, OFF, LOST = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN


def moves(*readings: Reading) -> list[Move]:
    """The four moves, each with a dwell that reads one thing."""
    return [Move(presence, (reading,) * 21) for presence, reading in zip(MOVES, readings, strict=True)]


@pytest.mark.parametrize("readings", list(product([ON, OFF], repeat=4)))
def test_only_agreement_in_all_four_moves_follows(readings: tuple[Reading, ...]) -> None:
    """Of the sixteen patterns two follow the filament, one in either sense; all others are still or a mixture."""
    assert (readings in {(ON, OFF, ON, OFF), (OFF, ON, OFF, ON)}) is follows(moves(*readings))


def test_a_late_hand_hides_nothing() -> None:
    """A dwell that begins with the former reading counts as what most of it shows."""
    late = [Move(presence, (OFF,) * 9 + (ON,) * 12 if presence is Presence.IN else (OFF,) * 21) for presence in MOVES]

    assert follows(late)


def test_a_move_that_could_not_be_read_says_nothing() -> None:
    """The others must agree; without one of either kind there is nothing to follow."""
    assert follows(moves(ON, OFF, LOST, LOST))
    assert not follows(moves(ON, LOST, ON, LOST))
    assert not follows([])


@pytest.mark.parametrize(
    ("restarted", "port_gone", "word"),
    [
        (False, False, PowerSeen.WORD),
        (False, True, PowerSeen.WORD),
        (True, False, PowerSeen.RESTART),
        (True, True, PowerSeen.POWER_OFF),
    ],
)
def test_a_power_off_takes_both_signs(word: PowerSeen, *, restarted: bool, port_gone: bool) -> None:
    """Opening a port restarts boards, and a pulled cable alone takes a port away: neither is enough alone."""
    assert word is power_seen(restarted=restarted, port_gone=port_gone)


@pytest.mark.parametrize(
    ("word", "shown"), [(PowerSeen.POWER_OFF, True), (PowerSeen.RESTART, True), (PowerSeen.WORD, False)]
)
def test_a_restart_is_enough_for_what_is_stored(word: PowerSeen, *, shown: bool) -> None:
    """A printer that began anew runs by its memory, however its power was; the operator's word shows nothing."""
    assert shown is word.restart
