"""Trials in bulk for the tests of this folder."""

from commission.judge.polarity import TrialResult
from commission.vocabulary import Presence, Reading


def trial(presence: Presence, *, active: bool) -> TrialResult:
    """One trial that could be read."""
    return TrialResult(presence, Reading.ACTIVE if active else Reading.INACTIVE)


def cycles(count: int, *, inverted: bool = False) -> list[TrialResult]:
    """That many clean cycles of a switch."""
    return [
        half
        for _ in range(count)
        for half in (trial(Presence.IN, active=not inverted), trial(Presence.OUT, active=inverted))
    ]


def counted(n: int, active_in: int, active_out: int) -> list[TrialResult]:
    """N cycles of which so many read active with filament in, and so many with filament out."""
    return [trial(Presence.IN, active=i < active_in) for i in range(n)] + [
        trial(Presence.OUT, active=i < active_out) for i in range(n)
    ]
