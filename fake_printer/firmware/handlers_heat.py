"""Family A: heaters, and reports of temperature."""

from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.heat import Heater
from fake_printer.firmware.voice import Handler, Steps

# A target above this starts the job timer in builds that start it by themselves; from memory.
_JOB_TEMPERATURE_C = 50.0


def _set_target(firmware: Firmware, heater: Heater, command: Command) -> None:
    target_c = command.number_of("S")
    if target_c is None:
        return
    heater.target_c = target_c
    if firmware.spec.heating_starts_timer and target_c > _JOB_TEMPERATURE_C:
        firmware.job.start()
    elif firmware.spec.heating_starts_timer and firmware.hotend.target_c == 0 and firmware.bed.target_c == 0:
        firmware.job.stop()


def _hotend(firmware: Firmware, command: Command) -> None:
    _set_target(firmware, firmware.hotend, command)


def _bed(firmware: Firmware, command: Command) -> None:
    _set_target(firmware, firmware.bed, command)


def _hotend_and_wait(firmware: Firmware, command: Command) -> Steps:
    _set_target(firmware, firmware.hotend, command)
    yield from wait_for_heat(firmware, firmware.hotend)


def _bed_and_wait(firmware: Firmware, command: Command) -> Steps:
    _set_target(firmware, firmware.bed, command)
    yield from wait_for_heat(firmware, firmware.bed)


def wait_for_heat(firmware: Firmware, heater: Heater) -> Steps:
    """Until the target is reached or the wait is called off; the temperature is said once a second."""
    firmware.heat_wait = True
    while firmware.heat_wait and not heater.reached:
        yield 1.0
        if firmware.spec.generation == "1.1":
            firmware.say(f"T:{firmware.hotend.temperature_c:.1f} E:0 W:?")
        else:
            firmware.say(f" {firmware.temperature_text()} W:?")


def _autoreport(firmware: Firmware, command: Command) -> None:
    interval_s = command.number_of("S")
    if interval_s is not None:
        firmware.report_every(max(0.0, interval_s))


def _nothing(_firmware: Firmware, _: Command) -> None:
    """A command that has no effect here worth imitating."""


TABLE: dict[str, Handler[Firmware]] = {
    "M104": _hotend,
    "M106": _nothing,
    "M107": _nothing,
    "M109": _hotend_and_wait,
    "M140": _bed,
    "M155": _autoreport,
    "M190": _bed_and_wait,
}
