"""What an entry adds to the exposure in which no change was wanted, with its condition."""

from commission.evidence.entry import Entry
from commission.evidence.measured import Moves, Readings, Watch, samples_of
from commission.evidence.soaked import SoakStretch
from commission.judge.exposure import exposure_s
from commission.judge.nuisance import Around, Exposed
from commission.judge.stability import unwanted_changes

WIGGLE, STEADY, MOVING = "wiggle", "steady", "moving"
"""Keys of the watches, and of the test moves, in which no change is wanted."""
HELD_AGAINST_THE_RECORD = frozenset({WIGGLE, STEADY})
"""Watches that every check takes alike; a start-up, or an unplugged input that may float, is none of them."""


def exposed_of(entry: Entry) -> Exposed | None:
    """What this entry shows of unwanted changes; None where a change was wanted, or nothing was read."""
    match entry:
        case SoakStretch():
            return entry.exposed
        case Watch(key=key, readings=readings) if key in HELD_AGAINST_THE_RECORD:
            return _read(Around.AT_REST, readings)
        case Moves(key=key, readings=readings) if key == MOVING:
            return _read(Around.MOVING, readings)
    return None


def _read(around: Around, readings: Readings) -> Exposed:
    changes = unwanted_changes([each.reading for each in readings])
    return Exposed(around, exposure_s(samples_of(readings)), changes)
