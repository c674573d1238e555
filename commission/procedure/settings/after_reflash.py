"""What a reflash did to the settings: read from what the printer says, and from the values where it says nothing."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from commission.dialect.storage import StorageEvent
from commission.settings.difference import Comparison, Difference

ERRORS = {
    "version_mismatch": "they were stored by another layout",
    "crc_mismatch": "their checksum is wrong",
    "datasize": "their size does not fit the new layout",
    "disabled": "this firmware was built without settings storage",
    "write_failed": "the memory could not be written",
}


class Fate(Enum):
    """What became of the settings."""

    SURVIVED = "survived"
    DEFAULTS = "defaults loaded"
    CHANGED_SILENTLY = "changed without a word"


@dataclass(frozen=True)
class Aftermath:
    """What a reflash did to the settings.

    Attributes:
        fate: what became of them.
        sentences: it in words, with the printer's own error in them.
        errors: kinds of storage errors that were reported.
        changed: how many values differ, of those that both firmwares print.
    """

    fate: Fate
    sentences: tuple[str, ...]
    errors: tuple[str, ...]
    changed: int

    @property
    def storage_disabled(self) -> bool:
        """Whether the firmware says that it stores no settings."""
        return "disabled" in self.errors


def aftermath(events: Sequence[StorageEvent], comparison: Comparison) -> Aftermath:
    """Judge what became of the settings.

    Messages can be switched off in a build, and some builds start their memory over by themselves, so that a later
    start looks sound though all tuning is gone. So the values decide, and the messages only explain.
    """
    errors = tuple(dict.fromkeys(event.kind for event in events if event.kind is not None))
    said = tuple(_error(event) for event in events if event.kind is not None)
    changed = len(comparison.of(Difference.CHANGED))
    same = len(comparison.of(Difference.SAME))
    announced = bool(errors) or any(event.event == "defaults_loaded" for event in events)
    if not changed and not announced:
        return Aftermath(Fate.SURVIVED, (f"All {same} values that both firmwares print are as before.",), errors, 0)
    if announced:
        head = ("The stored settings were not taken: the firmware's own defaults are loaded.",)
        return Aftermath(Fate.DEFAULTS, head + said + _counted(changed, same), errors, changed)
    retrieved = any(event.event == "retrieved" for event in events)
    told = "The printer says that it retrieved its settings" if retrieved else "The printer reported no error"
    lost = (
        f"{told}, yet {changed} values differ from the record: the memory was started over or the defaults were "
        "loaded without a word."
    )
    return Aftermath(Fate.CHANGED_SILENTLY, (lost, *_counted(changed, same)), errors, changed)


def _counted(changed: int, same: int) -> tuple[str, ...]:
    return (f"{changed} values differ from the record, {same} are as before.",)


def _error(event: StorageEvent) -> str:
    details = ", ".join(f"{name.replace('_', ' ')} {value}" for name, value in event.details.items())
    return f"Storage error: {ERRORS.get(event.kind or '', event.kind)}" + (f" ({details})." if details else ".")
