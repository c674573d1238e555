"""What a single test showed, as a diagnosis counts it."""

from msgspec import Struct

from commission.judge.explanations import Observation


class Observed(Struct, frozen=True, kw_only=True):
    """See `judge.explanations.Observation`."""

    test: str
    positives: int
    readings: int
    restarted: bool = False
    power_up: int = 0
    runs: int | None = None

    @classmethod
    def of(cls, seen: Observation) -> "Observed":
        """What was seen, for the record."""
        return cls(
            test=seen.test,
            positives=seen.positives,
            readings=seen.readings,
            restarted=seen.restarted,
            power_up=seen.power_up,
            runs=seen.runs,
        )

    @property
    def observation(self) -> Observation:
        """It as the diagnosis takes it."""
        return Observation(self.test, self.positives, self.readings, self.restarted, self.power_up, self.runs)
