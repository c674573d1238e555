"""Family B: its filament monitors, as they describe themselves and as the model has them."""

from fake_printer.family_specs import MonitorSpec
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.switch_report import second_absent
from fake_printer.socket_spec import SECOND_SENSOR

OFF, CARD, ALWAYS = 0, 1, 2
_MODES = {"off": OFF, "card": CARD, "always": ALWAYS}
_NAMES = {
    "simple": "Simple filament sensor",
    "magnet": "ExampleB magnetic filament monitor",
    "laser": "ExampleB laser filament monitor v3",
    "pulse": "Pulse-type filament monitor",
}
_TYPES = {"simple": "simple", "magnet": "rotatingMagnet", "laser": "laser", "pulse": "pulsed"}


class Monitors:
    """The monitors of one life.

    Attributes:
        mode: in which jobs each is heeded, by drive; a drive that is not here has none.
        has_model: the build has a model of itself.
        resets: how often a monitor was set anew, which forgets its calibration.
    """

    def __init__(self, spec: MonitorSpec, *, fitted: int) -> None:
        self._spec = spec
        self.mode = dict.fromkeys(range(fitted), _MODES[spec.watches])
        self.has_model = spec.wording != "2"
        self.resets = 0

    def absent(self, firmware: Firmware, drive: int) -> bool:
        """What the switch of this drive's monitor makes of the filament."""
        return second_absent(firmware) if drive else firmware.filament_absent()

    def sentence(self, firmware: Firmware, drive: int) -> str:
        """How the monitor of this drive describes itself."""
        if drive not in self.mode:
            return f"Extruder {'drive ' if self._spec.wording == '2' else ''}{drive} has no filament sensor"
        clauses = self._simple(firmware, drive) if self._spec.kind == "simple" else self._moving(firmware, drive)
        name = _NAMES[self._spec.kind] + (" with switch" if self._spec.with_switch else "")
        return f"{name} on {self._place(firmware, drive)}, {', '.join(clauses)}"

    def _place(self, firmware: Firmware, drive: int) -> str:
        second = firmware.body.sockets().get(SECOND_SENSOR)
        if self._spec.wording == "2":
            return f"endstop {3 + drive}"
        return f"pin {second.spec.port if drive and second else firmware.input.port}"

    def _simple(self, firmware: Firmware, drive: int) -> list[str]:
        present = "no" if self.absent(firmware, drive) else "yes"
        level = firmware.input.absent_level
        return [self._enabled(drive), f"output {level} when no filament", f"filament present: {present}"]

    def _moving(self, firmware: Firmware, drive: int) -> list[str]:
        switch = (
            ["no filament" if self.absent(firmware, drive) else "filament present"] if self._spec.with_switch else []
        )
        return [
            *(["firmware version 6"] if self._spec.wording == "3.5" else []),
            self._enabled(drive),
            "allow 55% to 145%",
            "check every 4.0mm",
            *switch,
            *(["mag 119 agc 83"] if self._spec.kind == "magnet" else []),
            _measured(firmware),
        ]

    def _enabled(self, drive: int) -> str:
        if self.mode[drive] == OFF:
            return "disabled"
        if self._spec.wording != "3.5":
            return "enabled"
        card = "enabled when printing from SD card" if self._spec.kind == "simple" else "enabled when SD printing"
        return "enabled always" if self.mode[drive] == ALWAYS else card

    def model(self, firmware: Firmware) -> list[dict[str, object] | None]:
        """Every drive up to the last that has a monitor, as the model has it."""
        drives = range(max(self.mode, default=-1) + 1)
        return [self._members(firmware, drive) if drive in self.mode else None for drive in drives]

    def _members(self, firmware: Firmware, drive: int) -> dict[str, object]:
        told: dict[str, object] = {}
        if self._spec.wording == "3.5":
            told["enableMode"] = self.mode[drive]
        else:
            told["enabled"] = self.mode[drive] != OFF
        if self._spec.wording == "3.0" and self._spec.kind == "simple":
            return {**told, "filamentPresent": not self.absent(firmware, drive)}
        return {**told, "status": self._status(firmware, drive), "type": _TYPES[self._spec.kind]}

    def _status(self, firmware: Firmware, drive: int) -> str:
        """While the monitor is not heeded, all is well whatever it reads."""
        if self.mode[drive] == OFF:
            return "ok"
        has_switch = self._spec.kind == "simple" or self._spec.with_switch
        if has_switch and self.absent(firmware, drive):
            return "noFilament"
        movement = firmware.movement
        if movement.watched and not movement.pulses:
            return "noDataReceived"
        return "tooLittleMovement" if movement.watched and movement.missed else "ok"


def _measured(firmware: Firmware) -> str:
    """What movement was measured; nothing before the first pulse, and no figures before a few, or without a wheel."""
    movement = firmware.movement
    if movement.watched and movement.pulses == 0:
        return "no data received"
    if movement.pulses < 4 or not movement.watched:
        return "no calibration data"
    return f"measured min 93% avg 99% max 104% over {movement.fed_mm:.1f}mm"
