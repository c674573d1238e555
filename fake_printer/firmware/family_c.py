"""The voice of family C: switches on one line, comments for messages, settings kept elsewhere, sensors by name."""

from fake_printer.build_spec import FirmwareSpec
from fake_printer.firmware import card_job, handlers_control, handlers_heat, handlers_motion
from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.host_computer import HostComputer
from fake_printer.firmware.intake import Refusal
from fake_printer.firmware.switch_report import switches
from fake_printer.firmware.usual import Usual
from fake_printer.firmware.voice import Handler, Steps
from fake_printer.memory import Retrieval

MACRO = "user's macro"
"""The code of what the host runs when it begins."""
_NOT_THERE = {"M75", "M76", "M77", "M108", "M111", "M113", "M410", "M524", "M600", "M876", "M302", "M999"}
_NEVER_REFUSED = {MACRO, "M115", "M112", "STATUS", "FIRMWARE_RESTART", "RESTART"}
_FIRST_SECONDS_S = 2.0


class FamilyC(Usual):
    """The family that is planned on a computer."""

    ok_first = False
    asks_again_s = 0.0

    def __init__(self, spec: FirmwareSpec) -> None:
        self._spec = spec.host
        self._host = HostComputer(spec.host)
        shared = {**handlers_control.TABLE, **handlers_heat.TABLE, **handlers_motion.TABLE, **card_job.TABLE}
        sensors: dict[str, Handler[Firmware]] = {
            "QUERY_FILAMENT_SENSOR": self._host.query,
            "SET_FILAMENT_SENSOR": self._host.set_watched,
        }
        known: dict[str, Handler[Firmware]] = {
            **{code: handler for code, handler in shared.items() if code not in _NOT_THERE},
            "M105": _temperatures,
            "M112": self._stop,
            "M114": _position,
            "M115": _identity,
            "M119": _switches,
            "QUERY_ENDSTOPS": _switches,
            "QUERY_BUTTON": _button,
            "STATUS": self._host.status,
            "RESTART": self._host.restart,
            "FIRMWARE_RESTART": self._host.restart,
            "PAUSE": self._pause,
            "RESUME": self._resume,
            "SAVE_CONFIG": self._save,
            "HELP": self._help,
            **(sensors if spec.runout.compiled else {}),
        }
        known[MACRO] = self._host.run_macro
        self.handlers = {code: self._serving(code, handler) for code, handler in known.items()}

    def begins(self, firmware: Firmware) -> None:
        """The host begins, and runs what its user wants to be run then; nobody can send that word."""
        self._host.begin()
        if self._spec.busy_s:
            firmware.runner.injected.append(Command("", MACRO))

    def passes(self, elapsed_s: float) -> None:
        """The host comes to serve."""
        self._host.passes(elapsed_s)

    def ok(self, _firmware: Firmware, _command: Command, data: str) -> str:
        """`ok`, with data on the same line where there is any."""
        return f"ok {data}" if data else "ok"

    def unknown(self, command: Command) -> list[str]:
        """A comment; or why nothing is done at all."""
        return self._host.complaint() or [f'// Unknown command:"{command.code or command.text}"']

    def refused(self, _refusal: Refusal) -> list[str]:
        """Nothing: numbers and checksums are not looked at."""
        return []

    def banner(self, _cause: str, _firmware: Firmware, _retrieval: Retrieval | None) -> list[str]:
        """A comment once it serves; from memory."""
        return ["// ready"]

    def busy(self, _state: str) -> list[str]:
        """Nothing, however long it takes."""
        return []

    def killed(self) -> list[str]:
        """A fault line."""
        return ["!! Shutdown due to M112 command"]

    def watching_on(self, _firmware: Firmware) -> bool:
        """Whether the first sensor is watched."""
        return any(self._host.watched[name] for name in self._spec.sensors[:1])

    def in_job(self, firmware: Firmware) -> bool:
        """While a job from the card or from a host runs, but not in its first seconds."""
        if firmware.runner.card_held:
            return False
        return firmware.job.running and firmware.job.elapsed_s > _FIRST_SECONDS_S

    def run_out(self, firmware: Firmware, _times: int) -> None:
        """A job from the card is held and only free text said; a host that streams is asked to pause."""
        if not self._spec.pauses:
            firmware.announce("// The bench macro for the sensor was run")
            return
        streamed = not firmware.runner.card
        card_job.hold(firmware)
        firmware.announce(*(["// action:pause"] if streamed else []), "// Parked: put filament in, then resume")

    def _serving(self, code: str, handler: Handler[Firmware]) -> Handler[Firmware]:
        """The handler, unless the host does not serve; a move begins a job that a host streams."""

        def served(firmware: Firmware, command: Command) -> Steps | None:
            complaint = [] if code in _NEVER_REFUSED else self._host.complaint()
            if complaint and code == "M105":
                firmware.say_on_ok("T:0")
                return None
            if complaint:
                firmware.say(*complaint)
                return None
            if code in ("G0", "G1") and not firmware.runner.card_held:
                firmware.job.start()
            return handler(firmware, command)

        return served

    def _stop(self, firmware: Firmware, _: Command) -> None:
        self._host.shut_down(firmware, "Stopped by M112")
        firmware.say("!! Shutdown due to M112 command")

    @staticmethod
    def _pause(firmware: Firmware, _: Command) -> None:
        if not card_job.hold(firmware):
            firmware.say("// Print already paused" if firmware.runner.card_held else "// Nothing is printed")

    @staticmethod
    def _resume(firmware: Firmware, _: Command) -> None:
        said = "// action:resume" if card_job.go_on(firmware) else "// Print is not paused, resume aborted"
        firmware.say(said)

    @staticmethod
    def _save(_firmware: Firmware, _: Command) -> None:
        """Nothing is pending here, so nothing is written and nothing restarts."""

    def _help(self, firmware: Firmware, _: Command) -> None:
        words = sorted(code for code in self.handlers if "_" in code or code.isalpha())
        firmware.say("// Available extended commands:", *(f"// {word}" for word in words))


def _identity(firmware: Firmware, _: Command) -> None:
    firmware.say_on_ok(f"FIRMWARE_VERSION:{firmware.spec.version} FIRMWARE_NAME:{firmware.spec.name}")


def _switches(firmware: Firmware, _: Command) -> None:
    axes = switches(firmware)[:3]
    named = [(each.spec.name, each.triggered) for each in firmware.body.sockets().values() if each.spec.reported]
    hits = [*((name[0], hit) for name, hit in axes), *named]
    firmware.say(" ".join(f"{name}:{'TRIGGERED' if hit else 'open'}" for name, hit in hits))


def _button(firmware: Firmware, command: Command) -> None:
    name = command.value_of("BUTTON")
    socket = firmware.body.sockets().get(name or "")
    if socket is None:
        firmware.say(f"!! The value '{name}' is not valid for BUTTON")
    else:
        firmware.say(f"// {name}: {'PRESSED' if socket.triggered else 'RELEASED'}")


def _temperatures(firmware: Firmware, _: Command) -> None:
    hotend, bed = firmware.hotend, firmware.bed
    firmware.say_on_ok(
        f"B:{bed.temperature_c:.1f} /{bed.target_c:.1f} T0:{hotend.temperature_c:.1f} /{hotend.target_c:.1f}"
    )


def _position(firmware: Firmware, _: Command) -> None:
    planned = firmware.planner.planned
    firmware.say(" ".join(f"{axis}:{planned[axis]:.3f}" for axis in "XYZE"))
