"""The voice of family B: long switch states, monitors of its own that no switch report mentions, and a model."""

from fake_printer.build_spec import FirmwareSpec
from fake_printer.firmware import card_job, handlers_b, handlers_control, handlers_heat, handlers_motion
from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.intake import Refusal
from fake_printer.firmware.monitors import ALWAYS, OFF, Monitors
from fake_printer.firmware.switch_report import switches
from fake_printer.firmware.usual import Usual
from fake_printer.firmware.voice import Handler
from fake_printer.memory import Retrieval

# What the shared tables know and this family does not.
_NOT_THERE = {"M75", "M76", "M77", "M108", "M113", "M410", "M524", "M876"}
_HALTED = "Emergency Stop! Reset the controller to continue."


class FamilyB(Usual):
    """The family with a structured status answer."""

    ok_first = False
    asks_again_s = 0.0

    def __init__(self, spec: FirmwareSpec) -> None:
        self._spec = spec.monitor
        self._bare = spec.monitor.acknowledges == "empty-line"
        self._monitors = Monitors(spec.monitor, fitted=spec.runout.sensors if spec.monitor.fitted else 0)
        shared = {**handlers_control.TABLE, **handlers_heat.TABLE, **handlers_motion.TABLE}
        self.handlers: dict[str, Handler[Firmware]] = {
            **{code: handler for code, handler in shared.items() if code not in _NOT_THERE},
            "M105": _temperatures,
            "M112": self._halt,
            "M114": _position,
            "M115": _identity,
            "M119": _switches,
            "M408": handlers_b.status,
            "M500": _save,
            "M502": _run_start_up_file,
            "M503": _settings_text,
            "M555": self._emulate,
            **(handlers_b.table(self._monitors) if spec.runout.compiled else card_job.TABLE),
        }

    def ok(self, firmware: Firmware, _command: Command, data: str) -> str | None:
        """`ok`, with data on the same line where there is any; or where it is not said, an empty reply's empty line."""
        if self._bare:
            return data or (None if firmware.runner.has_said else "")
        return f"ok {data}" if data else "ok"

    def unknown(self, command: Command) -> list[str]:
        """The code, and a sentence; but a user's file of that number is run."""
        code = command.code or command.text
        if code in self._spec.user_files:
            return [f"The user's file {code}.g was run"]
        return [f"Error: {code}: Command is not supported"]

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
        """A word of its own."""
        return [_HALTED]

    def watching_on(self, _firmware: Firmware) -> bool:
        """Whether the first drive's monitor is heeded at all."""
        return self._monitors.mode.get(0, OFF) != OFF

    def in_job(self, firmware: Firmware) -> bool:
        """In a job from the card; set to every job, while anything moves."""
        if self._monitors.mode.get(0) == ALWAYS and firmware.planner.moves:
            return not firmware.runner.card_held
        return firmware.job.running

    def run_out(self, firmware: Firmware, _times: int) -> None:
        """By age: a report, a fault, or an event for which a user's file decides alone."""
        if self._spec.wording in ("2", "3.0"):
            firmware.announce("Extruder 0 reports no filament")
        elif self._spec.wording == "3.5" and self._spec.event_file != "none":
            firmware.announce("The user's file for the event was run")
        else:
            status = "tooLittleMovement" if firmware.movement.watched else "noFilament"
            firmware.announce(f"Error: Filament error on extruder 0: {status}", "Printing paused")
        if self._spec.wording != "3.5" or self._spec.event_file != "silent":
            card_job.hold(firmware)

    def _halt(self, firmware: Firmware, _: Command) -> None:
        """Stop everything for good; questions about the state are answered all the same."""
        firmware.hotend.target_c = firmware.bed.target_c = 0.0
        firmware.planner.drop()
        card_job.drop(firmware)
        kept = {code: handler for code, handler in self.handlers.items() if code in ("M409", "M115")}
        self.handlers = {**kept, "M408": lambda stopped, _: handlers_b.say_status(stopped, "H")}
        firmware.say(_HALTED)

    def _emulate(self, firmware: Firmware, command: Command) -> None:
        """Say what is imitated on this port, or change it: 1 is itself, and then nothing is acknowledged by a word."""
        kind = command.number_of("P")
        if kind is None:
            firmware.say(f"Emulating {'itself' if self._bare else 'the widespread family'}")
        else:
            self._bare = kind == 1


def _identity(firmware: Firmware, _: Command) -> None:
    spec = firmware.spec
    name = f"FIRMWARE_NAME: {spec.name} FIRMWARE_VERSION: {spec.version}"
    firmware.say(f"{name} ELECTRONICS: {spec.machine} FIRMWARE_DATE: 2024-03-09 18:05:12")


def _switches(firmware: Firmware, _: Command) -> None:
    states = [f"{name[0].upper()}: {'at min stop' if hit else 'not stopped'}" for name, hit in switches(firmware)[:3]]
    firmware.say(f"Endstops - {', '.join(states)}, Z probe: not stopped")


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


def _save(firmware: Firmware, _: Command) -> None:
    """Into a file that this unit's start-up file does not load."""
    firmware.say("Warning: No M501 command was executed in config.g")


def _run_start_up_file(firmware: Firmware, _: Command) -> None:
    """It turns the heaters off and begins from the file."""
    firmware.hotend.target_c = firmware.bed.target_c = 0.0
