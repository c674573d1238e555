"""What most families have in common about jobs and runouts; a family overrides what it does its own way."""

from fake_printer.firmware.core import Firmware


class Usual:
    """A family that watches in any job and knows no leftover distance."""

    def watching_on(self, firmware: Firmware) -> bool:
        """Whether the runout logic is switched on."""
        return firmware.settings.get("M412", "S", 1.0) != 0

    def in_job(self, firmware: Firmware) -> bool:
        """Whether the runout logic looks at the input now."""
        return firmware.job.running

    def begins(self, _firmware: Firmware) -> None:
        """A life begins: it serves at once."""

    def passes(self, _elapsed_s: float) -> None:
        """Time passes, and nothing happens by itself."""

    def leftover_mm(self, _firmware: Firmware) -> float:
        """How much is fed after the input changed before anything is done."""
        return 0.0

    def run_out(self, _firmware: Firmware, _times: int) -> None:
        """A runout is established, for the so-many-th time in this life; nothing is done."""
