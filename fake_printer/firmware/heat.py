"""Heaters: a steady rise while on, a decay towards the room while off."""

import math

ROOM_C = 21.5


class Heater:
    """One heater with its sensor.

    Attributes:
        temperature_c: measured. target_c: 0 is off.
    """

    def __init__(self, rise_c_s: float, decay_s: float, temperature_c: float = ROOM_C) -> None:
        self._rise_c_s = rise_c_s
        self._decay_s = decay_s
        self.temperature_c = temperature_c
        self.target_c = 0.0

    @property
    def reached(self) -> bool:
        """Whether it is within two degrees of its target, or above."""
        return self.temperature_c >= self.target_c - 2

    def advance(self, elapsed_s: float, *, powered: bool) -> None:
        """Let time pass; without mains nothing heats."""
        if powered and self.temperature_c < self.target_c:
            self.temperature_c = min(self.target_c, self.temperature_c + self._rise_c_s * elapsed_s)
            return
        floor_c = max(ROOM_C, self.target_c if powered else ROOM_C)
        if self.temperature_c > floor_c:
            cooled = ROOM_C + (self.temperature_c - ROOM_C) * math.exp(-elapsed_s / self._decay_s)
            self.temperature_c = max(floor_c, cooled)
