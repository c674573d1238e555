"""What the firmware concludes from its inputs, as the switch reports of all families need it."""

from fake_printer.firmware.core import Firmware
from fake_printer.socket_spec import SECOND_SENSOR


def second_absent(firmware: Firmware) -> bool:
    """What the build concludes from the second sensor's input; from the first one where no second is fitted."""
    second = firmware.body.sockets().get(SECOND_SENSOR)
    return firmware.filament_absent() if second is None else not second.triggered


def switches(firmware: Firmware) -> list[tuple[str, bool]]:
    """Each switch and whether it is active; the filament's come last."""
    found = [(f"{axis.lower()}_min", firmware.planner.real[axis] <= 0) for axis in "XYZ"]
    found += [(each.spec.name, each.triggered) for each in firmware.body.sockets().values() if each.spec.reported]
    if firmware.spec.runout.compiled:
        first, second = not firmware.filament_absent(), not second_absent(firmware)
        found.append(("filament", first))
        numbers = range(2, firmware.spec.runout.sensors + 1)
        found += [(f"filament {number}", second if number == 2 else first) for number in numbers]
    return found
