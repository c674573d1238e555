"""Family A: settings. The report shows working memory; only storing makes a value last."""

from fake_printer.firmware.command import Command
from fake_printer.firmware.core import Firmware
from fake_printer.firmware.settings import all_entries
from fake_printer.firmware.storage import fault_lines, retrieval_lines
from fake_printer.firmware.voice import Handler

_NO_STORAGE = "Error:EEPROM disabled"


def _report(firmware: Firmware, command: Command) -> None:
    firmware.say(*firmware.settings.report(bare=command.number_of("S") == 0))


def _store(firmware: Firmware, _: Command) -> None:
    if not firmware.spec.has_storage:
        firmware.say(_NO_STORAGE)
        return
    size, crc = firmware.settings.store(firmware.memory)
    if firmware.spec.tells_storage:
        firmware.say(f"echo:Settings Stored ({size} bytes; crc {crc})")
    if firmware.spec.save_fails:
        firmware.say("Error:EEPROM datasize error.")
        return
    if firmware.spec.tells_host and firmware.spec.generation == "2.1":
        firmware.say("//action:notification Settings Stored")


def _reload(firmware: Firmware, _: Command) -> None:
    if firmware.spec.has_storage:
        firmware.say(*retrieval_lines(firmware.spec, firmware.settings.retrieve(firmware.memory)))
    else:
        firmware.settings.load_defaults()
        firmware.say("echo:Hardcoded Default Settings Loaded")
    firmware.runout.reset()
    firmware.say(*firmware.settings.report())


def _load_defaults(firmware: Firmware, _: Command) -> None:
    firmware.settings.load_defaults()
    firmware.runout.reset()
    firmware.say("echo:Hardcoded Default Settings Loaded")


def _check(firmware: Firmware, _: Command) -> None:
    if not firmware.spec.has_storage:
        firmware.say(_NO_STORAGE)
        return
    found = firmware.memory.retrieve(firmware.spec.storage_version, firmware.settings.size)
    firmware.say(*(fault_lines(firmware.spec, found) or ["echo:EEPROM OK"]))


def _set(firmware: Firmware, command: Command) -> None:
    if not firmware.settings.set_from(command):
        firmware.say(*firmware.voice.unknown(command))


TABLE: dict[str, Handler[Firmware]] = {
    **{entry.code: _set for entry in all_entries() if entry.code != "M412"},
    "M500": _store,
    "M501": _reload,
    "M502": _load_defaults,
    "M503": _report,
    "M504": _check,
}
