"""A sensor of movement: a wheel that the filament turns, with a contact that opens and closes as it goes round."""

from typing import Protocol

_ROUNDING_MM = 1e-9


class Travelling(Protocol):
    """A filament that moves past the wheel.

    Attributes:
        front_mm: where its leading end is. travelled_mm: how far it has moved in all, back and forth.
    """

    front_mm: float
    travelled_mm: float

    @property
    def at_trip_point(self) -> bool:
        """Whether it lies on the wheel."""
        ...


class Wheel:
    """Stands in for a lever: pressed and released by turns, once for each so many millimetres of filament.

    Attributes:
        held_by_hand: a finger holds it down, whatever the wheel does.
    """

    def __init__(
        self, pulse_mm: float, filament: Travelling, *, catches_after: int = 0, catches_mm: float = 0.0
    ) -> None:
        self._pulse_mm = pulse_mm
        self._catches_after, self._catches_mm = catches_after, catches_mm
        self._caught, self._stands_mm = 0, 0.0
        self._filament = filament
        self._seen_mm = filament.travelled_mm
        self._turned_mm = 0.0
        self.held_by_hand = False

    @property
    def edges_mm(self) -> tuple[float, ...]:
        """Positions of the leading end at which it changes next, either way, and at which it is reached at all."""
        beyond_mm = self._turned_mm - self._changes * self._pulse_mm
        front_mm = self._filament.front_mm
        # the one behind lies behind, even where it has just been passed: who feeds forward does not meet it again
        behind_mm = front_mm - beyond_mm - 2 * _ROUNDING_MM
        return (0.0, front_mm + self._stands_mm + self._pulse_mm - beyond_mm, behind_mm)

    @property
    def pressed(self) -> bool:
        """Where its contact is."""
        return self.held_by_hand or self._changes % 2 == 1

    @property
    def _changes(self) -> int:
        return int((self._turned_mm + _ROUNDING_MM) // self._pulse_mm)

    def follow(self, filament: Travelling) -> None:
        """Turn by as much as the filament moved; without filament it stands."""
        moved_mm, self._seen_mm = filament.travelled_mm - self._seen_mm, filament.travelled_mm
        if filament.at_trip_point:
            self._turn(moved_mm)

    def _turn(self, moved_mm: float) -> None:
        """Turn by that much, less what slides over it while it is caught; drawn back, it comes free."""
        slid_mm = min(self._stands_mm, max(0.0, moved_mm))
        self._stands_mm -= slid_mm
        self._turned_mm += moved_mm - slid_mm
        if self._catches_after and self._changes // self._catches_after > self._caught:
            self._caught, self._stands_mm = self._changes // self._catches_after, self._catches_mm
