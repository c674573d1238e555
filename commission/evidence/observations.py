"""What a single test showed, as a diagnosis counts it."""

from msgspec import Struct


class Observed(Struct, frozen=True, kw_only=True):
    """See `judge.diagnosis.Observation`."""

    test: str
    positives: int
    readings: int
    restarted: bool = False
    power_up: int = 0
