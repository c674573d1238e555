"""Family B: what it is asked about its monitors, its model and its state, and how a job is held."""

import json

from fake_printer.firmware import card_job
from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.monitors import ALWAYS, Monitors
from fake_printer.firmware.voice import Handler

_SETS = "PCSRELA"


def table(monitors: Monitors) -> dict[str, Handler[Firmware]]:
    """The handlers, for these monitors."""

    def monitor(firmware: Firmware, command: Command) -> None:
        drive = command.number_of("D")
        if drive is None:
            firmware.say("Error: M591: missing parameter 'D'")
        elif not 0 <= drive < max(2, firmware.spec.extruders):
            firmware.say("Error: M591: parameter 'D' too high")
        elif any(command.has(letter) for letter in _SETS):
            _set(firmware, monitors, int(drive), command)
        else:
            firmware.say(monitors.sentence(firmware, int(drive)))

    def model(firmware: Firmware, command: Command) -> None:
        key = command.argument.partition('"')[2].partition('"')[0]
        result = monitors.model(firmware) if key == "sensors.filamentMonitors" else _spare_input(firmware, key)
        answer = {"key": key, "flags": "", "result": result}
        firmware.say(json.dumps(answer, separators=(",", ":")))

    return {
        "M591": monitor,
        **({"M409": model, "M950": _assign} if monitors.has_model else {}),
        "M24": _resume,
        "M25": _pause,
        "M226": _pause,
        "M600": _pause,
        "M0": _cancel,
        **card_job.TABLE,
    }


def status(firmware: Firmware, _: Command) -> None:
    """The older answer about the state: a letter, and nothing of a filament sensor."""
    letter = "A" if firmware.runner.card_held else "P" if firmware.job.running else "I"
    say_status(firmware, letter)


def say_status(firmware: Firmware, letter: str) -> None:
    """Say the older status with this letter."""
    hotend, bed = firmware.hotend, firmware.bed
    heaters = [round(bed.temperature_c, 1), round(hotend.temperature_c, 1)]
    told = {"status": letter, "heaters": heaters, "homed": [int(firmware.planner.homed)] * 3, "fraction_printed": 0.0}
    firmware.say(json.dumps(told, separators=(",", ":")))


def _set(firmware: Firmware, monitors: Monitors, drive: int, command: Command) -> None:
    """Set a monitor anew: its calibration is gone, and with kind 0 so is it."""
    kind, watched = command.number_of("P"), command.number_of("S")
    pin = command.argument.partition('C"')[2].partition('"')[0]
    if pin in {socket.spec.port for socket in firmware.body.sockets().values() if socket.assigned}:
        firmware.say(f"Error: M591: Pin '{pin}' is not free")
        return
    monitors.resets += 1
    if kind == 0:
        monitors.mode.pop(drive, None)
    elif kind is not None or drive in monitors.mode:
        monitors.mode[drive] = min(int(watched), ALWAYS) if watched is not None else monitors.mode.get(drive, 0)


def _spare_input(firmware: Firmware, key: str) -> object:
    inputs = {f"sensors.gpIn[{n}]": each for n, each in enumerate(firmware.body.sockets().values())}
    socket = inputs.get(key)
    return {"value": int(socket.high)} if socket is not None and socket.assigned else None


def _assign(firmware: Firmware, command: Command) -> None:
    """Say what a spare input reads; with a pin's name, give it that pin, or with `nil` free it."""
    index = command.number_of("J")
    sockets = list(firmware.body.sockets().values())
    if index is None or not 0 <= index < len(sockets):
        firmware.say("Error: M950: parameter 'J' out of range")
        return
    socket = sockets[int(index)]
    pin = command.argument.partition('C"')[2].partition('"')[0]
    if pin:
        socket.assigned = pin != "nil"
    else:
        firmware.say(f"Pin {socket.spec.port}, active: {str(socket.high).lower()}")


def _pause(firmware: Firmware, _: Command) -> None:
    if card_job.hold(firmware):
        firmware.say("Printing paused")


def _resume(firmware: Firmware, _: Command) -> None:
    if card_job.go_on(firmware):
        firmware.say("Printing resumed")


def _cancel(firmware: Firmware, _: Command) -> None:
    """Only a job that is held can be given up."""
    if firmware.runner.card_held:
        card_job.drop(firmware)
