"""Family A: moves. A move is acknowledged once it is in the planner; homing and dwelling hold up what follows."""

from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.motion import AXES
from fake_printer.firmware.voice import Handler, Patience, Steps

_LONGEST_EXTRUSION_MM = 200.0


def _move(firmware: Firmware, command: Command) -> Steps:
    while firmware.planner.free_slots == 0:
        yield Patience(lambda: firmware.planner.free_slots > 0)
    feed_mm_min = command.number_of("F")
    if feed_mm_min is not None and feed_mm_min > 0:
        firmware.planner.feed_mm_s = feed_mm_min / 60
    planned = firmware.planner.planned
    target = {axis: _target(firmware, command, axis) for axis in AXES}
    firmware.planner.plan(target, extruded_mm=_allowed(firmware, target["E"] - planned["E"]))


def _target(firmware: Firmware, command: Command, axis: str) -> float:
    value = command.number_of(axis)
    here = firmware.planner.planned[axis]
    if value is None:
        return here
    relative = firmware.relative_e if axis == "E" else firmware.relative
    return here + value if relative else value


def _allowed(firmware: Firmware, extruded_mm: float) -> float:
    if extruded_mm and not firmware.may_extrude:
        firmware.say("echo: cold extrusion prevented")
        return 0.0
    if extruded_mm > _LONGEST_EXTRUSION_MM:
        firmware.say("echo: too long extrusion prevented")
        return 0.0
    return extruded_mm


def _home(firmware: Firmware, _: Command) -> Steps:
    yield from wait_for_moves(firmware)
    yield firmware.spec.homing_s
    firmware.planner.place({**firmware.planner.planned, "X": 0.0, "Y": 0.0, "Z": 0.0})
    firmware.planner.homed = True


def _dwell(firmware: Firmware, command: Command) -> Steps:
    yield from wait_for_moves(firmware)
    seconds = command.number_of("S")
    yield seconds if seconds is not None else (command.number_of("P") or 0.0) / 1000


def wait_for_moves(firmware: Firmware) -> Steps:
    """Until the planner is empty."""
    while firmware.planner.moves:
        yield Patience(lambda: not firmware.planner.moves)


def _finish_moves(firmware: Firmware, _: Command) -> Steps:
    yield from wait_for_moves(firmware)


def _place(firmware: Firmware, command: Command) -> Steps:
    yield from wait_for_moves(firmware)
    stated = {axis: command.number_of(axis) for axis in AXES}
    changed = {axis: value for axis, value in stated.items() if value is not None}
    firmware.planner.place({**firmware.planner.planned, **changed})


def _absolute(firmware: Firmware, _: Command) -> None:
    firmware.relative = firmware.relative_e = False


def _relative(firmware: Firmware, _: Command) -> None:
    firmware.relative = firmware.relative_e = True


def _absolute_e(firmware: Firmware, _: Command) -> None:
    firmware.relative_e = False


def _relative_e(firmware: Firmware, _: Command) -> None:
    firmware.relative_e = True


def _cold_extrusion(firmware: Firmware, command: Command) -> None:
    permission, limit_c = command.number_of("P"), command.number_of("S")
    if permission is None and limit_c is None:
        word = "enabled" if firmware.cold_allowed else "disabled"
        firmware.say(f"echo:Cold extrudes are {word} (min temp {firmware.coldest_extrusion_c:.0f}C)")
    if limit_c is not None:
        firmware.coldest_extrusion_c = limit_c
        firmware.cold_allowed = limit_c == 0
    if permission is not None:
        firmware.cold_allowed = permission != 0


TABLE: dict[str, Handler[Firmware]] = {
    "G0": _move,
    "G1": _move,
    "G4": _dwell,
    "G28": _home,
    "G90": _absolute,
    "G91": _relative,
    "G92": _place,
    "M82": _absolute_e,
    "M83": _relative_e,
    "M302": _cold_extrusion,
    "M400": _finish_moves,
}
