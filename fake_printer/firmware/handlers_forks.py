"""Forks of family A that tell more of a sensor than the switch report does."""

from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.switch_report import second_absent
from fake_printer.firmware.voice import Handler

_MOTION, _HIGH_IS_PRESENT, _LOW_IS_PRESENT = 7, 1, 2
_SETS = "SDLPR"


def sensor_lines(firmware: Firmware) -> list[str]:
    """One line for each sensor below the report, with other words than those of the switch report."""
    seen = [firmware.filament_absent(), second_absent(firmware)][: firmware.spec.runout.sensors]
    names = ["filament", "filament 2"]
    return [f"{name}: {'MISSING' if each else 'LOADED'}" for name, each in zip(names, seen, strict=False)]


def _monitor(firmware: Firmware, command: Command) -> None:
    """Report on the active tool; with any letter, set."""
    if not any(command.has(letter) for letter in _SETS):
        firmware.say(_report(firmware))
        return
    on, distance_mm = command.number_of("S"), command.number_of("D")
    changed = {"S": on, "D": distance_mm}
    firmware.settings.overlay({"M412": {letter: value for letter, value in changed.items() if value is not None}})
    if command.has("S") or command.has("R"):
        firmware.runout.reset()
    if command.has("R"):
        firmware.say("Runout Reset")
    elif on is not None:
        firmware.say(f"Runout {'Enabled' if on else 'Disabled'}")


def _report(firmware: Firmware) -> str:
    on = "ON" if firmware.runout_enabled else "OFF"
    mode = _LOW_IS_PRESENT if firmware.input.absent_level == "high" else _HIGH_IS_PRESENT
    if firmware.movement.watched:
        mode = _MOTION
    distance_mm = firmware.settings.get("M412", "D", 0.0)
    handling = "ON" if firmware.runout.left_to_host else "OFF"
    return f"echo:Filament runout {on} ; Distance {distance_mm:.2f}mm ; Mode {mode} ; Host handling {handling}"


TABLE: dict[str, Handler[Firmware]] = {"M591": _monitor}
