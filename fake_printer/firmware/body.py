"""What the firmware finds around it."""

from collections.abc import Mapping
from typing import Protocol

from fake_printer.input_socket import Socket


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

    def sockets(self) -> Mapping[str, Socket]:
        """Every input but that of the runout logic, by name."""
        ...

    def hold_input(self, number: int, *, drive: str = "no") -> bool:
        """Make a pin an input with a pull-up, or drive it; it lasts until the next start. False for another pin."""
        ...
