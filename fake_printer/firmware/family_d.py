"""The voice of family D: it acknowledges before it answers, says `wait` while idle, and keeps settings cell by cell."""

from fake_printer.build_spec import FirmwareSpec
from fake_printer.firmware import card_job, handlers_control, handlers_heat, handlers_motion
from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.intake import Refusal
from fake_printer.firmware.jam_control import JamControl, one_pin
from fake_printer.firmware.switch_report import switches
from fake_printer.firmware.usual import Usual
from fake_printer.firmware.voice import Handler
from fake_printer.memory import Retrieval

# type, position, settings line and letter behind it, and name of each cell that is kept
_CELLS = (
    (3, 3, "M92", "X", "X-axis steps per mm"),
    (3, 7, "M92", "Y", "Y-axis steps per mm"),
    (3, 11, "M92", "Z", "Z-axis steps per mm"),
    (3, 200, "M92", "E", "Extr.1 steps per mm"),
    (3, 15, "M203", "X", "X-axis max. feedrate [mm/s]"),
    (3, 23, "M203", "Z", "Z-axis max. feedrate [mm/s]"),
    (3, 808, "M851", "Z", "Z-probe height [mm]"),
)


class FamilyD(Usual):
    """The older 8-bit family."""

    ok_first = True
    asks_again_s = 2.0  # an estimate

    def __init__(self, spec: FirmwareSpec) -> None:
        self._jams = JamControl(spec)
        self.handlers: dict[str, Handler[Firmware]] = {
            **handlers_control.TABLE,
            **handlers_heat.TABLE,
            **handlers_motion.TABLE,
            "M105": _temperatures,
            "M114": _position,
            "M115": _identity,
            "M119": _switches,
            "M205": _cells,
            "M206": _write_cell,
            "M500": _stored,
            "M42": one_pin,
            **self._jams.table(),
            **card_job.TABLE,
        }

    def ok(self, _firmware: Firmware, command: Command, _data: str) -> str:
        """`ok` and the line number; 0 for a line without."""
        return f"ok {command.line_number or 0}"

    def unknown(self, command: Command) -> list[str]:
        """The command behind a colon."""
        return [f"Unknown command:{command.text}"]

    def refused(self, refusal: Refusal) -> list[str]:
        """The reason, an empty line, the line wanted; no acknowledgement."""
        wanted = refusal.last_line + 1
        reason = f"expected line {wanted} got {refusal.got}" if refusal.reason == "order" else "Wrong checksum"
        return [f"Error:{reason}", "", f"Resend:{wanted}"]

    def banner(self, cause: str, _firmware: Firmware, _retrieval: Retrieval | None) -> list[str]:
        """Start, cause and memory."""
        return ["start", f"Info:{cause}", "Free RAM:2817"]

    def busy(self, _state: str) -> list[str]:
        """A word that says it is working; from memory."""
        return ["busy:processing"]

    def killed(self) -> list[str]:
        """A fault; from memory."""
        return ["fatal: Emergency stop, restart the board"]

    def watching_on(self, _firmware: Firmware) -> bool:
        """Whether jam control is on."""
        return self._jams.watching

    def in_job(self, firmware: Firmware) -> bool:
        """While anything is printed, from the card or from a host."""
        return not firmware.runner.card_held and (firmware.job.running or bool(firmware.planner.moves))

    def run_out(self, firmware: Firmware, _times: int) -> None:
        """A word of its own, and then by who prints and whether there is a display."""
        self._jams.run_out(firmware)


def _identity(firmware: Firmware, _: Command) -> None:
    spec = firmware.spec
    url = "FIRMWARE_URL:https://example.org/firmware PROTOCOL_VERSION:1.0"
    kind = f"MACHINE_TYPE:{spec.machine} EXTRUDER_COUNT:{spec.extruders} {spec.name.upper()}_PROTOCOL:2"
    firmware.say(f"FIRMWARE_NAME:{spec.name}_{spec.version} {url} {kind}")
    firmware.say("Printed filament:214.80m Printing time:9 days 4 hours 31 min")


def _switches(firmware: Firmware, _: Command) -> None:
    states = " ".join(f"{name}:{'H' if hit else 'L'}" for name, hit in switches(firmware)[:3])
    firmware.say(f"endstops hit: {states} Z-probe state:L")


def _temperatures(firmware: Firmware, _: Command) -> None:
    hotend, bed = firmware.hotend, firmware.bed
    firmware.say(
        f"T:{hotend.temperature_c:.2f} /{hotend.target_c:.0f} B:{bed.temperature_c:.2f} /{bed.target_c:.0f} B@:0 @:0"
    )


def _position(firmware: Firmware, _: Command) -> None:
    planned = firmware.planner.planned
    firmware.say(f"X:{planned['X']:.2f} Y:{planned['Y']:.2f} Z:{planned['Z']:.3f} E:{planned['E']:.4f}")


def _cells(firmware: Firmware, _: Command) -> None:
    for kind, place, key, letter, name in _CELLS:
        firmware.say(f"EPR:{kind} {place} {firmware.settings.get(key, letter, 0.0):.4f} {name}")


def _write_cell(firmware: Firmware, command: Command) -> None:
    place = command.number_of("P")
    value = command.number_of("X") if command.has("X") else command.number_of("S")
    for _, known, key, letter, _ in _CELLS:
        if place == known and value is not None:
            firmware.settings.overlay({key: {letter: value}})


def _stored(firmware: Firmware, _: Command) -> None:
    firmware.settings.store(firmware.memory)
    firmware.say("Configuration stored to EEPROM.")
