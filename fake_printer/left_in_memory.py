"""The settings memory as a unit's profile says that it was left."""

from fake_printer.firmware.settings import Settings
from fake_printer.memory import Memory
from fake_printer.specs import Profile


def stored_memory(profile: Profile) -> Memory:
    """The memory as the profile says it was left; blank when nothing was ever stored."""
    memory = Memory()
    if profile.stored.version:
        settings = Settings(profile.firmware)
        settings.overlay(profile.stored.values)
        memory.store(profile.stored.version, settings.pack())
        memory.writes = 0
    return memory
