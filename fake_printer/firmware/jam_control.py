"""Family D: jam control, and the one pin that can be read at the price of its mode."""

from fake_printer.build_spec import FirmwareSpec
from fake_printer.firmware import card_job
from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.voice import Handler, Patience, Steps

_SENSITIVE = (8, 9, 10)
"""Heaters and fan: nobody may touch them."""
_DIALOGUE = "dialogue on the display"


class JamControl:
    """What it holds in memory.

    Attributes:
        watching: whether anything is done about missing filament.
    """

    def __init__(self, spec: FirmwareSpec) -> None:
        self.watching = spec.detector.enabled
        self._moves = spec.runout.senses == "motion"
        self._display = spec.display

    def table(self) -> dict[str, Handler[Firmware]]:
        """Its handlers."""
        return {"M513": self._clear, "M602": self._switch, _DIALOGUE: self._dialogue}

    def run_out(self, firmware: Firmware) -> None:
        """Say what is missed; then a job from the card is held, a dialogue opened, or the host asked to pause."""
        firmware.announce(f"important:{'Extruder jam detected' if self._moves else 'No Filament detected'}")
        if self._display:
            card_job.hold(firmware)
            firmware.runner.injected.append(Command(_DIALOGUE, _DIALOGUE))
        elif not card_job.hold(firmware):
            wanted = "Extruder Jam Detected!" if self._moves else "No filament detected!"
            firmware.announce("// action:out_of_filament T0", f"RequestPause:{wanted}")

    def _dialogue(self, firmware: Firmware, _: Command) -> Steps:
        """Nothing else is done before somebody answers at the display."""
        with firmware.dialogue.open() as dialogue:
            yield Patience(lambda: dialogue.answered)
        if not firmware.filament_absent():
            firmware.announce("Filament inserted")
        firmware.runout.reset()
        card_job.go_on(firmware)

    def _clear(self, firmware: Firmware, _: Command) -> None:
        firmware.runout.reset()
        firmware.movement.restart()
        firmware.say("Info:Marked all extruders as unjammed.")

    def _switch(self, firmware: Firmware, command: Command) -> None:
        debugging, disabled = command.number_of("S"), command.number_of("P")
        if debugging is not None:
            firmware.say(f"Jam debugging:{int(debugging)}")
        if disabled is not None:
            self.watching = disabled == 0
            firmware.say(f"Jam control disabled:{int(disabled)}")


def one_pin(firmware: Firmware, command: Command) -> None:
    """Read a pin, which makes it an input with a pull-up; with a value, drive it."""
    number, value = command.number_of("P"), command.number_of("S")
    if number is None or int(number) in _SENSITIVE:
        firmware.say("Error:Pin can not be set by M42, is in sensitive pins! ")
        return
    pin = int(number)
    drive = "no" if value is None else "high" if value else "low"
    known = firmware.body.hold_input(pin, drive=drive)
    if value is None:
        firmware.say(f" to {pin} is {int(_high(firmware, pin)) if known else 1}")


def _high(firmware: Firmware, pin: int) -> bool:
    if pin == firmware.input.number:
        return firmware.body.pin_high()
    return any(each.high for each in firmware.body.sockets().values() if each.spec.number == pin)
