"""What is true of the printer, for whoever has to judge what was made of it."""

from collections.abc import Iterable

from fake_printer.board import Board
from fake_printer.firmware.core import Firmware
from fake_printer.plant import Plant


def of_front(plant: Plant, board: Board) -> dict[str, object]:
    """Filament, sensor, cable and input."""
    cable, filament = plant.cable, plant.filament
    return {
        "presence": "in" if filament.at_trip_point else "out",
        "moving": filament.moving,
        "lever_pressed": plant.lever.pressed,
        "contacts_closed": [contact.closed for contact in plant.contacts],
        "connected": {"board": cable.plugged_at_board, "sensor": cable.plugged_at_sensor},
        "conductors": dict(cable.conductors),
        "shaken_for_s": round(cable.shaken_for_s, 6),
        "level": board.level,
        "pin_high": board.pin_high,
        "absent_level": board.input.absent_level,
    }


def of_supply(board: Board) -> dict[str, object]:
    """What feeds the board, and whether it does."""
    return {
        "powered": board.alive,
        "mains_on": board.mains_on,
        "usb_in": board.usb_in,
        "supply_shorted": board.circuit.supply_shorted,
    }


def of_firmware(firmware: Firmware | None) -> dict[str, object]:
    """The life under way, if there is one."""
    if firmware is None:
        return {"booting": False, "running": None}
    heaters = {"hotend": firmware.hotend, "bed": firmware.bed}
    return {
        "booting": firmware.booting,
        "killed": firmware.killed,
        "running": firmware.runner.running.text if firmware.runner.running else None,
        "waiting_for_person": firmware.dialogue.waiting,
        "concluded": "out" if firmware.filament_absent() else "in",
        "temperatures_c": {name: round(heater.temperature_c, 2) for name, heater in heaters.items()},
        "targets_c": {name: heater.target_c for name, heater in heaters.items()},
        "cold_extrusion_allowed": firmware.cold_allowed,
        "planned_mm": dict(firmware.planner.planned),
        "planned_moves": len(firmware.planner.moves),
        "homed": firmware.planner.homed,
        "job_running": firmware.job.running,
        "runout": _runout(firmware),
        "settings": {key: dict(words) for key, words in firmware.settings.values.items()},
    }


def _runout(firmware: Firmware) -> dict[str, object]:
    return {
        "enabled": firmware.runout_enabled,
        "latched": firmware.runout.latched,
        "left_to_host": firmware.runout.left_to_host,
        "distance_mm": firmware.settings.get("M412", "D", 0.0),
    }


def of_host(waiting: object, refused: Iterable[str], received: Iterable[str]) -> dict[str, object]:
    """What came from the host, and the deeds that wait for it or could not be done when it came."""
    return {"planned_deeds": waiting, "refused_deeds": list(refused), "received_lines": list(received)}
