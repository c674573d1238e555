"""What a soak came to."""

from msgspec import Struct

from commission.evidence.findings.base import Finding
from commission.judge.nuisance import Around, RateBound
from commission.vocabulary import Reading, Verdict


class Shown(Struct, frozen=True, kw_only=True):
    """What one condition has shown of unwanted changes; see `judge.nuisance.RateBound`."""

    around: Around
    seconds: float
    changes: int
    per_hour: float

    @classmethod
    def of(cls, bound: RateBound) -> "Shown":
        """The bound, for the record."""
        return cls(around=bound.around, seconds=bound.seconds, changes=bound.changes, per_hour=bound.per_hour)


class Soaked(Finding, frozen=True, kw_only=True, tag="soaked"):
    """A soak, each condition for itself.

    Attributes:
        planned_s: the exposure planned, and `taken_s` how long it took; in seconds.
        misread: what it read most of the time where that is not filament in; None where it read right.
        stopped: whether the operator ended it before its time.
    """

    switch: str
    shown: tuple[Shown, ...]
    planned_s: float
    taken_s: float
    stopped: bool
    verdict: Verdict
    misread: Reading | None = None
