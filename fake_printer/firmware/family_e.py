"""The voice of family E: data on the acknowledgement's line, raw pins beside the switches, settings from files."""

from fake_printer.build_spec import FirmwareSpec
from fake_printer.firmware import card_job, handlers_control, handlers_heat, handlers_motion, handlers_query
from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.detector import Detector
from fake_printer.firmware.intake import Refusal
from fake_printer.firmware.switch_report import switches
from fake_printer.firmware.usual import Usual
from fake_printer.firmware.voice import Handler
from fake_printer.memory import Retrieval

_PINS = {"X": "P1.24", "Y": "P1.26", "Z": "P1.28"}


class FamilyE(Usual):
    """The family with configuration files."""

    ok_first = False
    asks_again_s = 0.0

    def __init__(self, spec: FirmwareSpec) -> None:
        self._detector = Detector(spec)
        self.handlers: dict[str, Handler[Firmware]] = {
            **handlers_control.TABLE,
            **handlers_heat.TABLE,
            **handlers_motion.TABLE,
            "M105": handlers_query.TABLE["M105"],
            "M114": _position,
            "M115": _identity,
            "M119": _switches,
            "M503": _settings,
            **self._detector.table(),
            **card_job.TABLE,
        }

    def ok(self, _firmware: Firmware, _command: Command, data: str) -> str:
        """`ok`, with data on the same line where there is any; this word alone has both characters of a line end."""
        return f"ok {data}" if data else "ok\r"

    def unknown(self, _command: Command) -> list[str]:
        """Nothing but the acknowledgement; from memory."""
        return []

    def refused(self, refusal: Refusal) -> list[str]:
        """A resend; from memory."""
        return [f"rs N{refusal.last_line + 1}", "ok"]

    def banner(self, _cause: str, _firmware: Firmware, _retrieval: Retrieval | None) -> list[str]:
        """A greeting and a glued acknowledgement; from memory."""
        return ["Bench unit", "ok"]

    def busy(self, _state: str) -> list[str]:
        """Nothing."""
        return []

    def killed(self) -> list[str]:
        """A fault line; from memory."""
        return ["ok Emergency Stop Requested - reset or M999 required to exit HALT state"]

    def watching_on(self, _firmware: Firmware) -> bool:
        """Whether the detector is on; a plain switch always is."""
        return self._detector.enabled

    def in_job(self, firmware: Firmware) -> bool:
        """A plain switch is heeded even while nothing runs; pulses are missed only while filament is fed."""
        return not firmware.runner.card_held and not self._detector.triggered

    def run_out(self, firmware: Firmware, _times: int) -> None:
        """A comment, and then as though somebody had suspended the print."""
        self._detector.run_out(firmware)


def _identity(firmware: Firmware, _: Command) -> None:
    spec = firmware.spec
    url = "FIRMWARE_URL:https%3A//example.org/firmware"
    axes = "X-AXES:4, X-SYSTEM_CLOCK:120MHz"
    firmware.say(f"FIRMWARE_NAME:{spec.name}, {url}, FIRMWARE_VERSION:{spec.version}, {axes}")


def _switches(firmware: Firmware, _: Command) -> None:
    hits = {name[0].upper(): int(hit) for name, hit in switches(firmware)[:3]}
    sockets = [each for each in firmware.body.sockets().values() if each.spec.reported]
    named = [f"{each.spec.name[0].upper()}{each.spec.name[1:]}:{int(each.triggered)}" for each in sockets]
    raw = [f"({each.spec.name[0].upper()}){each.spec.port}:{int(each.high)}" for each in sockets]
    states = " ".join([*(f"{axis}_min:{hit}" for axis, hit in hits.items()), *named])
    pins = " ".join([*(f"({axis}){_PINS[axis]}:{hit}" for axis, hit in hits.items()), *raw])
    firmware.say(f"{states} pins- {pins}  Probe: 0")


def _position(firmware: Firmware, _: Command) -> None:
    planned = firmware.planner.planned
    firmware.say_on_ok("C: " + " ".join(f"{axis}:{planned[axis]:.4f}" for axis in "XYZE"))


def _settings(firmware: Firmware, _: Command) -> None:
    firmware.say(";Steps per unit:", "M92 X80.00000 Y80.00000 Z400.00000")
    firmware.say(";Acceleration mm/sec^2:", "M204 S1500.00000 Z100.00000")
    firmware.say(";PID settings, i and d values may be scaled:", "M301 S0 P10.0000 I0.3000 D200.0000 X255.0000")
