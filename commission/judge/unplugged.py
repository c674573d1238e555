"""Was the sensor really unplugged? The filament is moved, and a reading that goes with it says that it was not.

A sensor that is still plugged in reads *out* by itself where no filament is in it: looking tells nothing. Only a
reading that stays what it is through in, out, in and out has nothing to do with the sensor any more.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.vocabulary import Presence, Reading

MOVES = (Presence.IN, Presence.OUT, Presence.IN, Presence.OUT)
"""Four of them: an input that nothing holds goes with them by chance in one of eight, and then it is done again."""


@dataclass(frozen=True)
class Move:
    """One move of the filament with the sensor unplugged, and what was read after it."""

    presence: Presence
    readings: tuple[Reading, ...]


def follows(moves: Sequence[Move]) -> bool:
    """Whether the reading goes with the filament, in either sense: one at every *in*, the other at every *out*.

    A late hand does not hide it: what most of the known readings of a dwell show counts. A dwell of which nothing is
    known says nothing, and the others must agree.
    """
    seen = {presence: _shown(moves, presence) for presence in Presence}
    return all(len(shown) == 1 for shown in seen.values()) and seen[Presence.IN] != seen[Presence.OUT]


def _shown(moves: Sequence[Move], presence: Presence) -> set[Reading]:
    return {shows(move.readings) for move in moves if move.presence is presence} - {Reading.UNKNOWN}


def shows(readings: Sequence[Reading]) -> Reading:
    """What most of the known readings show; unknown where there is no such."""
    active, inactive = readings.count(Reading.ACTIVE), readings.count(Reading.INACTIVE)
    if active == inactive:
        return Reading.UNKNOWN
    return Reading.ACTIVE if active > inactive else Reading.INACTIVE
