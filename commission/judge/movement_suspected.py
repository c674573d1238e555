"""Trials of a presence sensor that look like those of a sensor of movement.

A wheel flips again and again while filament slides over it, stands still at rest, and stops at either word. A lever
changes once. A bad contact flips as well, but at rest it still tells filament in from out, or is restless there too.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.judge.stability import Sample, unwanted_changes
from commission.judge.trial import TimedTrial
from commission.vocabulary import Presence, Reading

LEAST_FLIPS = 3
"""A lever changes once, and one that is passed too quickly goes there and back: so many are neither."""
LEAST_MOVES = 8
SHARE = 0.75
"""Of the moves: in so many it flips. A hand may have been slow, or quicker than the readings."""


@dataclass(frozen=True)
class Flipping:
    """What the moves of a series showed.

    Attributes:
        moves: prompts to move the filament that were carried out and read.
        flipping: those of them in which the reading flipped.
        quiet: whether it stood still wherever nothing was to be moved, but for one late hand.
        tells: whether what it reads at rest is another word with filament in than out, always.
    """

    moves: int
    flipping: int
    quiet: bool
    tells: bool

    @property
    def seems_movement(self) -> bool:
        """Whether it looks like a sensor of movement."""
        often = self.moves >= LEAST_MOVES and self.flipping >= SHARE * self.moves
        return often and self.quiet and not self.tells


def flipping(trials: Sequence[TimedTrial]) -> Flipping:
    """What these trials show of it; those that were set aside or unread show nothing."""
    read = [each for each in trials if each.finished and each.spoken is None and each.read]
    moves, left = [each for each in read if each.moved], [each for each in read if not each.moved]
    restless = sum(bool(_changes(each.dwell)) for each in moves)
    words = {presence: {each.majority for each in read if each.presence is presence} for presence in Presence}
    return Flipping(
        moves=len(moves),
        flipping=sum(_changes((*each.before, *each.dwell)) >= LEAST_FLIPS for each in moves),
        quiet=restless <= 1 and not any(_changes(each.unasked) for each in left),
        tells=_apart(words[Presence.IN], words[Presence.OUT]),
    )


def _changes(samples: Sequence[Sample]) -> int:
    return unwanted_changes([each.reading for each in samples])


def _apart(one: set[Reading], other: set[Reading]) -> bool:
    return len(one) == len(other) == 1 and one != other
