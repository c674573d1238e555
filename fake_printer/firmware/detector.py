"""Family E: a detector that counts pulses, and the suspension of a print."""

from fake_printer.build_spec import FirmwareSpec
from fake_printer.firmware import card_job
from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.handlers_motion import wait_for_moves
from fake_printer.firmware.voice import Handler, Steps

_AFTER_OK = (
    "// Waiting for queue to empty (Host must stop sending)...",
    "// Saving current state...",
    "// Print Suspended, enter resume to continue printing",
)


class Detector:
    """What it holds in memory.

    Attributes:
        enabled: whether it is watched. triggered: it has found something, and nobody has resumed since.
    """

    def __init__(self, spec: FirmwareSpec) -> None:
        self.enabled = spec.detector.enabled
        self.triggered = False
        self._spec = spec.detector

    def table(self) -> dict[str, Handler[Firmware]]:
        """Its handlers."""
        pulses: dict[str, Handler[Firmware]] = {
            "M404": self._lengths,
            "M405": self._off,
            "M406": self._on,
            "M407": self._count,
        }
        return {**(pulses if self._spec.counts else {}), "SUSPEND": self._suspend, "RESUME": self._resume}

    def run_out(self, firmware: Firmware) -> None:
        """Say what is missed, and suspend."""
        self.triggered = True
        firmware.announce("// Filament Detector has detected a filament jam")
        card_job.hold(firmware)
        firmware.announce("Suspending print, waiting for queue to empty...", "// action:pause", *_AFTER_OK)

    def _suspend(self, firmware: Firmware, _: Command) -> Steps:
        """The acknowledgement comes in the middle of what is said."""
        firmware.say("Suspending print, waiting for queue to empty...", "// action:pause")
        card_job.hold(firmware)
        firmware.runner.after_ok = [*_AFTER_OK]
        yield from wait_for_moves(firmware)

    def _resume(self, firmware: Firmware, _: Command) -> None:
        self.triggered = False
        firmware.runout.reset()
        firmware.movement.restart()
        card_job.go_on(firmware)
        firmware.say("// Print resumed")

    def _count(self, firmware: Firmware, _: Command) -> None:
        movement = firmware.movement
        firmware.say(f"Extruder moved: {movement.fed_mm:.6f} mm", f"Encoder pulses: {movement.pulses}")
        firmware.say(*(["Filament detector triggered"] if self.triggered else []))
        firmware.say(*(["Filament detector is enabled"] if self.enabled else []))

    def _lengths(self, firmware: Firmware, _: Command) -> None:
        firmware.say(f"// pulses per mm: {self._spec.pulses_per_mm:.6f}")

    def _off(self, _firmware: Firmware, _: Command) -> None:
        self.enabled = False

    def _on(self, firmware: Firmware, _: Command) -> None:
        self.enabled = True
        firmware.movement.restart()
