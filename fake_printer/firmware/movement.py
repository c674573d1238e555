"""Whether filament moves: changes of the input held against what the drive gear was told to feed."""

import math


class Movement:
    """Counts changes of the input.

    Attributes:
        fed_mm: filament fed since the counts began. pulses: changes of the input meanwhile.
    """

    def __init__(self, jam_mm: float) -> None:
        self.fed_mm = 0.0
        self.pulses = 0
        self._jam_mm = jam_mm
        self._still_mm = 0.0
        self._high: bool | None = None

    @property
    def watched(self) -> bool:
        """Whether the build goes by movement instead of by the level of the input."""
        return self._jam_mm > 0

    @property
    def missed(self) -> bool:
        """Whether so much was fed without a change that filament must be missing or stuck."""
        return self._still_mm > self._jam_mm

    def missing(self, *, absent: bool) -> bool:
        """Whether filament is missed: because it does not move, or in other builds by the level of the input."""
        return self.missed if self.watched else absent

    def until_missed_s(self, drawing_mm_s: float) -> float:
        """Seconds until it would be missed, with the drive gear turning at this speed and nothing moving."""
        if not self.watched or self.missed or drawing_mm_s <= 0:
            return math.inf
        # a hair past the limit, so that rounding cannot stop short of it for good
        return (self._jam_mm - self._still_mm + 1e-6) / drawing_mm_s

    def fed(self, distance_mm: float) -> None:
        """The drive gear was turned; drawing back takes from the count as well."""
        self.fed_mm += distance_mm
        self._still_mm = max(0.0, self._still_mm + distance_mm)

    def look(self, *, high: bool) -> None:
        """Take note of what the input reads now."""
        if self._high is not None and high != self._high:
            self.pulses += 1
            self._still_mm = 0.0
        self._high = high

    def restart(self) -> None:
        """Begin the counts anew."""
        self.fed_mm, self.pulses, self._still_mm = 0.0, 0, 0.0
