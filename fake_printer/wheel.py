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

    def __init__(self, pulse_mm: float, filament: Travelling) -> None:
        self._pulse_mm = pulse_mm
        self._filament = filament
        self._seen_mm = filament.travelled_mm
        self._turned_mm = 0.0
        self.held_by_hand = False

    @property
    def edges_mm(self) -> tuple[float, ...]:
        """Positions of the leading end at which it changes next, either way, and at which it is reached at all."""
        beyond_mm = self._turned_mm % self._pulse_mm
        front_mm = self._filament.front_mm
        return (0.0, front_mm + self._pulse_mm - beyond_mm, front_mm - beyond_mm)

    @property
    def pressed(self) -> bool:
        """Where its contact is."""
        return self.held_by_hand or int((self._turned_mm + _ROUNDING_MM) // self._pulse_mm) % 2 == 1

    def follow(self, filament: Travelling) -> None:
        """Turn by as much as the filament moved; without filament it stands."""
        moved_mm, self._seen_mm = filament.travelled_mm - self._seen_mm, filament.travelled_mm
        if filament.at_trip_point:
            self._turned_mm += moved_mm
