"""The voice of family C: switches on one line, comments for messages, settings kept elsewhere."""

from fake_printer.build_spec import FirmwareSpec
from fake_printer.firmware import handlers_control, handlers_heat, handlers_motion
from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.intake import Refusal
from fake_printer.firmware.voice import Handler
from fake_printer.memory import Retrieval

_NOT_THERE = {"M75", "M76", "M77", "M108", "M111", "M113", "M600", "M876", "M302"}


class FamilyC:
    """The family that is planned on a computer."""

    ok_first = False
    asks_again_s = 0.0

    def __init__(self, _spec: FirmwareSpec) -> None:
        shared = {**handlers_control.TABLE, **handlers_heat.TABLE, **handlers_motion.TABLE}
        self.handlers: dict[str, Handler[Firmware]] = {
            **{code: handler for code, handler in shared.items() if code not in _NOT_THERE},
            "M105": _temperatures,
            "M114": _position,
            "M115": _identity,
            "M119": _switches,
        }

    def ok(self, _firmware: Firmware, _command: Command, data: str) -> str:
        """`ok`, with data on the same line where there is any."""
        return f"ok {data}" if data else "ok"

    def unknown(self, command: Command) -> list[str]:
        """A comment."""
        return [f'// Unknown command:"{command.code or command.text}"']

    def refused(self, refusal: Refusal) -> list[str]:
        """A resend; from memory."""
        return [f"rs N{refusal.last_line + 1}", "ok"]

    def banner(self, _cause: str, _firmware: Firmware, _retrieval: Retrieval | None) -> list[str]:
        """A comment once it serves; from memory."""
        return ["// ready"]

    def busy(self, _state: str) -> list[str]:
        """Nothing."""
        return []

    def killed(self) -> list[str]:
        """A fault line."""
        return ["!! Shutdown due to M112 command"]


def _identity(firmware: Firmware, _: Command) -> None:
    firmware.say_on_ok(f"FIRMWARE_VERSION:{firmware.spec.version} FIRMWARE_NAME:{firmware.spec.name}")


def _switches(firmware: Firmware, _: Command) -> None:
    firmware.say(" ".join(f"{name[0]}:{'TRIGGERED' if hit else 'open'}" for name, hit in firmware.switches()[:3]))


def _temperatures(firmware: Firmware, _: Command) -> None:
    hotend, bed = firmware.hotend, firmware.bed
    firmware.say_on_ok(
        f"B:{bed.temperature_c:.1f} /{bed.target_c:.1f} T0:{hotend.temperature_c:.1f} /{hotend.target_c:.1f}"
    )


def _position(firmware: Firmware, _: Command) -> None:
    planned = firmware.planner.planned
    firmware.say(" ".join(f"{axis}:{planned[axis]:.3f}" for axis in "XYZE"))
