"""What family A says about its settings memory."""

from fake_printer.build_spec import FirmwareSpec
from fake_printer.memory import Retrieval, Retrieved, WrongChecksum, WrongSize


def retrieval_lines(spec: FirmwareSpec, retrieval: Retrieval) -> list[str]:
    """The message about reading the settings memory, with the defaults that follow a failure."""
    if not spec.tells_storage:
        return []
    if isinstance(retrieval, Retrieved):
        crc = f"; crc {retrieval.checksum}"
        return [f"echo:{spec.storage_version} stored settings retrieved ({len(retrieval.payload)} bytes{crc})"]
    return [*fault_lines(spec, retrieval), "echo:Hardcoded Default Settings Loaded"]


def fault_lines(spec: FirmwareSpec, retrieval: Retrieval) -> list[str]:
    """What is wrong with the settings memory; nothing when it is sound."""
    if isinstance(retrieval, Retrieved):
        return []
    if isinstance(retrieval, WrongSize):
        return ["Error:EEPROM datasize error.", f"echo:Index: {retrieval.expected} Size: {retrieval.found}"]
    if isinstance(retrieval, WrongChecksum):
        pair = f"(stored) {retrieval.stored} != {retrieval.computed} (calculated)!"
        return [f"Error:EEPROM CRC mismatch - {pair}"]
    versions = f"(EEPROM={retrieval.found} {spec.name}={spec.storage_version})"
    return [f"echo:EEPROM version mismatch {versions}"]
