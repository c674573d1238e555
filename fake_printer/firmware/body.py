"""What the firmware finds around it."""

from typing import Protocol


class Body(Protocol):
    """The printer the firmware runs in, as far as it can feel it."""

    def pin_high(self) -> bool:
        """What the runout input reads."""
        ...

    def motors_powered(self) -> bool:
        """Whether mains feeds motors and heaters."""
        ...

    def draw(self, distance_mm: float) -> None:
        """Turn the drive gear."""
        ...
