"""The voice of family B: long switch states, and a filament monitor of its own that no switch report mentions."""

import json

from fake_printer.build_spec import FirmwareSpec
from fake_printer.firmware import handlers_control, handlers_heat, handlers_motion
from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.intake import Refusal
from fake_printer.firmware.voice import Handler
from fake_printer.memory import Retrieval


class FamilyB:
    """The family with an object model."""

    ok_first = False
    asks_again_s = 0.0

    def __init__(self, spec: FirmwareSpec) -> None:
        self.handlers: dict[str, Handler[Firmware]] = {
            **handlers_control.TABLE,
            **handlers_heat.TABLE,
            **handlers_motion.TABLE,
            "M105": _temperatures,
            "M114": _position,
            "M115": _identity,
            "M119": _switches,
            "M503": _settings_text,
            **({"M591": _filament_monitor, "M409": _object_model} if spec.runout.compiled else {}),
        }

    def ok(self, _firmware: Firmware, _command: Command, data: str) -> str:
        """`ok`, with data on the same line where there is any."""
        return f"ok {data}" if data else "ok"

    def unknown(self, command: Command) -> list[str]:
        """The code, and a sentence."""
        return [f"Error: {command.code or command.text}: Command is not supported"]

    def refused(self, refusal: Refusal) -> list[str]:
        """A resend; from memory."""
        return [f"rs {refusal.last_line + 1}", "ok"]

    def banner(self, _cause: str, _firmware: Firmware, _retrieval: Retrieval | None) -> list[str]:
        """Nothing."""
        return []

    def busy(self, _state: str) -> list[str]:
        """Nothing."""
        return []

    def killed(self) -> list[str]:
        """A word of its own; from memory."""
        return ["Error: Emergency Stop! Reset the controller to continue."]


def _identity(firmware: Firmware, _: Command) -> None:
    spec = firmware.spec
    name = f"FIRMWARE_NAME: {spec.name} FIRMWARE_VERSION: {spec.version}"
    firmware.say(f"{name} ELECTRONICS: {spec.machine} FIRMWARE_DATE: 2024-03-09 18:05:12")


def _switches(firmware: Firmware, _: Command) -> None:
    states = [f"{name[0].upper()}: {'at min stop' if hit else 'not stopped'}" for name, hit in firmware.switches()[:3]]
    firmware.say(f"Endstops - {', '.join(states)}, Z probe: not stopped")


def _filament_monitor(firmware: Firmware, command: Command) -> None:
    if command.number_of("D") != 0:
        firmware.say("Error: M591: missing or unknown D parameter")
        return
    enabled = "enabled" if firmware.runout_enabled else "disabled"
    absent = f"output {firmware.input.absent_level} when no filament"
    present = "no" if firmware.filament_absent() else "yes"
    pin = f"Simple filament sensor on pin {firmware.input.port}"
    firmware.say(f"{pin}, {enabled}, {absent}, filament present: {present}")


def _object_model(firmware: Firmware, command: Command) -> None:
    if '"sensors.filamentMonitors"' not in command.text:
        firmware.say("Error: M409: this build answers for sensors.filamentMonitors only")
        return
    present = not firmware.filament_absent()
    monitor = {
        "enabled": firmware.runout_enabled,
        "filamentPresent": present,
        "status": "ok" if present else "noFilament",
        "type": "simple",
    }
    firmware.say(json.dumps({"key": "sensors.filamentMonitors", "flags": "", "result": [monitor]}))


def _temperatures(firmware: Firmware, _: Command) -> None:
    hotend, bed = firmware.hotend, firmware.bed
    firmware.say_on_ok(
        f"T:{hotend.temperature_c:.1f} /{hotend.target_c:.1f} B:{bed.temperature_c:.1f} /{bed.target_c:.1f}"
    )


def _position(firmware: Firmware, _: Command) -> None:
    planned = firmware.planner.planned
    steps = " ".join(f"{80 * planned[axis]:.0f}" for axis in "XYZ")
    firmware.say(" ".join(f"{axis}:{planned[axis]:.3f}" for axis in "XYZE") + f" Count {steps}")


def _settings_text(firmware: Firmware, _: Command) -> None:
    firmware.say("; start-up file of the bench unit", "M550 PBench", "M92 X80.00 Y80.00 Z400.00 E420.00")
    firmware.say(f'M591 D0 P{1 if firmware.input.absent_level == "low" else 2} C"{firmware.input.port}" S1')
