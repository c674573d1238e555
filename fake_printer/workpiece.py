"""What of the printer hands can touch."""

from typing import Protocol

from fake_printer.board import Board
from fake_printer.disturbance import Disturber
from fake_printer.firmware.core import Firmware
from fake_printer.front import Front
from fake_printer.planned import Planned
from fake_printer.plant import Plant
from fake_printer.specs import Profile


class Workpiece(Protocol):
    """The printer as it lies before the hands.

    Attributes:
        profile: the unit it is. plant, board, front: its parts. disturber: what may go wrong by itself.
        firmware: the life under way; None while the board has no power.
        mains_on: the power switch. planned: deeds that wait for a line.
    """

    profile: Profile
    plant: Plant
    board: Board
    front: Front
    disturber: Disturber
    firmware: Firmware | None
    mains_on: bool
    planned: Planned

    @property
    def alive(self) -> bool:
        """Whether the logic supply is there."""
        ...

    def plug_usb(self, *, plugged: bool) -> None:
        """Put the USB plug in, or pull it."""
        ...

    def power_cycle(self, seconds: float) -> None:
        """Switch everything off, and on again after that time."""
        ...

    def restart(self, cause: str) -> None:
        """Have the firmware begin anew, with this cause in its banner."""
        ...

    def reflash(self, build: Profile) -> None:
        """Put another build into the board."""
        ...

    def state(self) -> dict[str, object]:
        """Everything that is true of it."""
        ...
