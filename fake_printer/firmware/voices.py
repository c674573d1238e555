"""The voice of each family, by its letter."""

from fake_printer.build_spec import FirmwareSpec
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.family_a import FamilyA
from fake_printer.firmware.family_b import FamilyB
from fake_printer.firmware.family_c import FamilyC
from fake_printer.firmware.family_d import FamilyD
from fake_printer.firmware.family_e import FamilyE
from fake_printer.firmware.voice import Voice


def voice_of(spec: FirmwareSpec) -> Voice[Firmware]:
    """The voice of this build's family."""
    match spec.family:
        case "A":
            return FamilyA(spec)
        case "B":
            return FamilyB(spec)
        case "C":
            return FamilyC(spec)
        case "D":
            return FamilyD(spec)
        case "E":
            return FamilyE(spec)
