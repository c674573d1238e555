"""Family A: what it is asked and answers at once."""

from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.handlers_forks import sensor_lines
from fake_printer.firmware.switch_report import switches
from fake_printer.firmware.voice import Handler

_COMMON_UUID = "cede2a2f-41a2-4748-9b12-c55c62f367ff"


def _identity(firmware: Firmware, _: Command) -> None:
    spec = firmware.spec
    parts = [
        f"FIRMWARE_NAME:{spec.name} {spec.version} (Mar  9 2024 18:05:12)",
        "SOURCE_CODE_URL:https://example.org/firmware",
        "PROTOCOL_VERSION:1.0",
        f"MACHINE_TYPE:{spec.machine}",
        *([f"KINEMATICS:{spec.kinematics}"] if spec.kinematics else []),
        f"EXTRUDER_COUNT:{spec.extruders}",
        f"UUID:{spec.uuid or _COMMON_UUID}",
    ]
    firmware.say(" ".join(parts))
    firmware.say(*(f"Cap:{name}:{int(present)}" for name, present in capabilities(firmware).items()))


def capabilities(firmware: Firmware) -> dict[str, bool]:
    """What the build announces; what the profile states wins over what follows from the build."""
    spec = firmware.spec
    if spec.generation == "1.1":
        derived = {"EEPROM": spec.has_storage, "AUTOREPORT_TEMP": True, "Z_PROBE": True}
    else:
        derived = {
            "SERIAL_XON_XOFF": False,
            "EEPROM": spec.has_storage,
            "AUTOREPORT_TEMP": True,
            "PRINT_JOB": True,
            "AUTOLEVEL": True,
            **({"RUNOUT": spec.runout.compiled} if spec.generation == "2.1" else {}),
            "Z_PROBE": True,
            "EMERGENCY_PARSER": spec.urgent_words_at_once,
            "HOST_ACTION_COMMANDS": spec.tells_host,
            "PROMPT_SUPPORT": spec.asks_host,
            "SDCARD": False,
            "THERMAL_PROTECTION": True,
        }
    return {**derived, **spec.capabilities}


def _switches(firmware: Firmware, _: Command) -> None:
    words = ("TRIGGERED", "open") if firmware.spec.words == "words" else ("H", "L")
    firmware.say("Reporting endstop status")
    firmware.say(*(f"{name}: {words[0] if active else words[1]}" for name, active in switches(firmware)))


def _temperatures(firmware: Firmware, _: Command) -> None:
    firmware.say_on_ok(firmware.temperature_text())


def _position(firmware: Firmware, _: Command) -> None:
    planned = firmware.planner.planned
    steps = {axis: firmware.settings.get("M92", axis, 80.0) * planned[axis] for axis in "XYZ"}
    count = f"Count X:{steps['X']:.0f} Y:{steps['Y']:.0f} Z:{steps['Z']:.0f}"
    if firmware.spec.generation == "1.1":
        count = f"Count X: {steps['X']:.0f} Y:{steps['Y']:.0f} Z:{steps['Z']:.0f}"
    firmware.say(" ".join(f"{axis}:{planned[axis]:.2f}" for axis in "XYZE") + " " + count)


def _runout_control(firmware: Firmware, command: Command) -> None:
    if not any(command.has(letter) for letter in "SRDHL"):
        firmware.say(*runout_report(firmware))
        return
    firmware.settings.set_from(command)
    handling = command.number_of("H")
    if handling is not None:
        firmware.runout.left_to_host = handling != 0
    if command.has("S") or command.has("R"):
        firmware.runout.reset()


def runout_report(firmware: Firmware) -> list[str]:
    """The runout report in the build's form."""
    form = firmware.spec.runout.report
    on = "ON" if firmware.runout_enabled else "OFF"
    distance_mm = firmware.settings.get("M412", "D", 0.0)
    if form in ("two-lines", "line-each"):
        each = sensor_lines(firmware) if form == "line-each" else []
        return [f"echo:Filament runout {on}", f"Filament runout distance (mm): {distance_mm:.2f}", *each]
    if form == "sentence":
        seen = "not present" if firmware.filament_absent() else "present"
        return [f"echo:Filament runout {on}, distance {distance_mm:.3f} mm, sensor: filament {seen}"]
    handling = "ON" if firmware.runout.left_to_host else "OFF"
    motion_mm = firmware.spec.runout.motion_distance_mm
    text = f"echo:Filament runout {on} ; Distance {distance_mm:.2f}mm"
    text += f" ; Motion distance {motion_mm:.2f}mm" if motion_mm else ""
    return [text + f" ; Host handling {handling}"]


def _pins(firmware: Firmware, command: Command) -> None:
    pin = firmware.input
    number = command.number_of("P")
    if number is not None and int(number) != pin.number:
        firmware.say(pin_line(firmware, f"P{int(number)}", int(number), "<unused/unknown>", high=True))
        return
    if number is None:
        for other in range(16):
            firmware.say(pin_line(firmware, f"P{other}", other, "<unused/unknown>", high=bool(other % 3)))
    high = firmware.body.pin_high()
    firmware.say(pin_line(firmware, pin.port, pin.number, pin.names[0], high=high))
    firmware.say(*(f".{'':33}{name:39}{_mode(firmware, high=high)}" for name in pin.names[1:]))


def pin_line(firmware: Firmware, port: str, number: int, name: str, *, high: bool) -> str:
    """One line of a pin report."""
    return f"PIN: {port:12}M42 P{number:<12}{name:39}{_mode(firmware, high=high)}"


def _mode(firmware: Firmware, *, high: bool) -> str:
    if firmware.spec.pin_report == "word":
        return f"Input  {'HIGH' if high else 'LOW'}"
    return f"Input  = {int(high)}"


def _card_state(firmware: Firmware, _: Command) -> None:
    left, size = len(firmware.runner.card), firmware.runner.card_size
    firmware.say(f"SD printing byte {size - left}/{size}" if left else "Not SD printing")


def _job_time(firmware: Firmware, _: Command) -> None:
    firmware.say(f"echo:Print time: {firmware.job.elapsed_s:.0f}s")


TABLE: dict[str, Handler[Firmware]] = {
    "M27": _card_state,
    "M31": _job_time,
    "M43": _pins,
    "M105": _temperatures,
    "M114": _position,
    "M115": _identity,
    "M119": _switches,
    "M412": _runout_control,
}
