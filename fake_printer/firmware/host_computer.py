"""Family C: the host computer's state and its sensors, and what it says of both."""

from fake_printer.family_specs import HostSpec
from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.switch_report import second_absent
from fake_printer.firmware.voice import Steps

NAME = "ExampleC"
_LOST = "The board's link was lost"
_RESTART = "FIRMWARE_RESTART"


class HostComputer:
    """What the host computer holds in memory.

    Attributes:
        state: ready, not-ready or shutdown. watched: whether each sensor is watched, by name.
    """

    def __init__(self, spec: HostSpec) -> None:
        self.state: str = spec.state
        self.watched = dict.fromkeys(spec.sensors, True)
        self._spec = spec
        self._reason = _LOST
        self._begins_in_s = 0.0

    # its state

    def complaint(self) -> list[str]:
        """Why it does not serve, closed by a fault line; nothing while it does."""
        if self.state == "ready":
            return []
        if self.state == "not-ready":
            why = "The host is not ready"
            return [f"// {why}", f"// {NAME} waits for its board. Ask again in a while.", f"!! {why}"]
        why = f"Board 'bench' shutdown: {self._reason}"
        cure = f'// Once that is mended, use the "{_RESTART}" command to begin again.'
        return [f"// {why}", cure, "// The host has shut down", f"!! {why}"]

    def begin(self) -> None:
        """Begin: not ready for a while, where that is so."""
        self._begins_in_s = self._spec.begins_s
        if self._begins_in_s:
            self.state = "not-ready"

    def passes(self, elapsed_s: float) -> None:
        """Serve once the while is over."""
        if self._begins_in_s > 0:
            self._begins_in_s -= elapsed_s
            self.state = "not-ready" if self._begins_in_s > 0 else "ready"

    def run_macro(self, _firmware: Firmware, _: Command) -> Steps:
        """Run what its user wrote: nothing else goes on meanwhile."""
        yield self._spec.busy_s

    def status(self, firmware: Firmware, _: Command) -> None:
        """The state, before the reasons when it has shut down, behind them when it is not ready yet."""
        word = {"ready": "Ready", "not-ready": "Not ready", "shutdown": "Shutdown"}[self.state]
        *reasons, fault = self.complaint() or [""]
        state = f"// {NAME} state: {word}"
        lines = [state, *reasons] if self.state == "shutdown" else [*reasons, state]
        firmware.say(*lines, *([fault] if fault else []))

    def shut_down(self, firmware: Firmware, reason: str) -> None:
        """Stop everything, and say so unasked."""
        self.state, self._reason, self._begins_in_s = "shutdown", reason, 0.0
        firmware.hotend.target_c = firmware.bed.target_c = 0.0
        firmware.planner.drop()
        firmware.runner.card.clear()
        firmware.job.stop()
        firmware.announce(f"// {NAME} state: Shutdown")

    def restart(self, firmware: Firmware, _: Command) -> Steps:
        """Begin again: position and heat are lost, and every sensor is watched."""
        firmware.hotend.target_c = firmware.bed.target_c = 0.0
        firmware.planner.drop()
        firmware.planner.homed = False
        self.state = "not-ready"
        yield self._spec.restart_s
        self.state = "ready"
        self.watched = dict.fromkeys(self._spec.sensors, True)
        firmware.say(f"// {NAME} state: Ready")

    # its sensors

    def query(self, firmware: Firmware, command: Command) -> None:
        """One sensor by its name, letter case and all."""
        name = command.value_of("SENSOR")
        if name is None:
            firmware.say("!! Error on 'QUERY_FILAMENT_SENSOR': missing SENSOR")
        elif name not in self._spec.sensors:
            firmware.say(f"!! The value '{name}' is not valid for SENSOR")
        else:
            firmware.say(*self._sentence(name, present=not self.absent(firmware, name)))

    def absent(self, firmware: Firmware, name: str) -> bool:
        """What this sensor makes of the filament; one of movement misses it until the first pulse."""
        if name != self._spec.sensors[0]:
            return second_absent(firmware)
        movement = firmware.movement
        return (movement.pulses == 0 or movement.missed) if movement.watched else firmware.filament_absent()

    def _sentence(self, name: str, *, present: bool) -> list[str]:
        word = "detected" if present else "not detected"
        if self._spec.answers == "oldest":
            return [f"// Switch Sensor: filament {word}"]
        if self._spec.answers == "sentence":
            return [f"// Filament Sensor {name}: filament {word}"]
        dictionary = f"{{'filament_detected': {present}, 'enabled': {self.watched[name]}}}"
        return [f"// Filament Sensor {name}: filament {word}", f"// {dictionary}"]

    def set_watched(self, firmware: Firmware, command: Command) -> None:
        """Watch a sensor or do not, until the next restart; nothing is said."""
        name, value = command.value_of("SENSOR"), command.value_of("ENABLE")
        if name not in self.watched:
            firmware.say(f"!! The value '{name}' is not valid for SENSOR")
        elif value is not None:
            self.watched[name] = value != "0"
