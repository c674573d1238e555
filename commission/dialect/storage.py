"""What the printer says of its stored settings: retrieved, stored, defaults loaded, sound, or which error."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

_SIZE = r"(?: \((?P<bytes>\d{1,9}) bytes(?:; crc (?P<crc>\d{1,9}))?\))?"
_LEAD = r"(?:echo:|error:)?\s*"

# event, kind, shape. Numbers named in a shape become whole numbers, everything else stays text.
_SHAPES: tuple[tuple[str, str | None, re.Pattern[str]], ...] = tuple(
    (event, kind, re.compile(_LEAD + shape, re.IGNORECASE))
    for event, kind, shape in (
        ("retrieved", None, r"(?:(?P<version>[A-Z]{1,2}\d{1,5}) )?stored settings retrieved" + _SIZE),
        ("stored", None, r"settings stored" + _SIZE),
        ("stored", None, r"configuration stored to eeprom"),
        ("defaults_loaded", None, r"hardcoded default settings loaded"),
        ("defaults_loaded", None, r"configuration reset to defaults"),
        ("ok", None, r"eeprom ok\s*$"),
        (
            "error",
            "version_mismatch",
            r"eeprom version mismatch(?: \(eeprom=(?P<stored_version>[^ )]{1,40}) "
            r"[^=()]{1,80}=(?P<firmware_version>[^)]{1,40})\))?",
        ),
        (
            "error",
            "crc_mismatch",
            r"eeprom crc mismatch(?: - \(stored\) (?P<stored_crc>\d{1,9}) != (?P<calculated_crc>\d{1,9}))?",
        ),
        (
            "error",
            "datasize",
            r"eeprom datasize error\.?(?:.{0,10}index: (?P<index>\d{1,9}) size: (?P<size>\d{1,9}))?",
        ),
        ("error", "disabled", r"eeprom disabled"),
        ("error", "write_failed", r"error writing to eeprom"),
    )
)
_INDEX = re.compile(_LEAD + r"index: (?P<index>\d{1,9}) size: (?P<size>\d{1,9})", re.IGNORECASE)
_TEXTS = ("version", "stored_version", "firmware_version")


@dataclass(frozen=True)
class StorageEvent:
    """One message about the stored settings.

    Attributes:
        event: `retrieved`, `stored`, `defaults_loaded`, `ok` or `error`.
        kind: which error; None for the others.
        version: layout version of what was retrieved, as printed.
        bytes: size of the stored settings.
        crc: checksum of the stored settings.
        details: what else an error states: stored and expected version or checksum, index and size.
    """

    event: str
    kind: str | None = None
    version: str | None = None
    bytes: int | None = None
    crc: int | None = None
    details: Mapping[str, str | int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.event not in ("retrieved", "stored", "defaults_loaded", "ok", "error"):
            raise ValueError(f"no such storage event: {self.event!r}")
        if (self.kind is not None) != (self.event == "error"):
            raise ValueError("an error, and only an error, has a kind")
        object.__setattr__(self, "details", MappingProxyType(dict(self.details)))


def is_storage_line(text: str) -> bool:
    """Whether a line speaks of the stored settings."""
    return _INDEX.match(text) is not None or _event(text) is not None


def storage_events_of(lines: Iterable[str]) -> tuple[StorageEvent, ...]:
    """Every message about the stored settings, in order; an index line belongs to the size error above it."""
    events: list[StorageEvent] = []
    for line in lines:
        if found := _INDEX.match(line):
            if events and events[-1].kind == "datasize":
                events[-1] = StorageEvent("error", "datasize", details=_numbers(found))
        elif event := _event(line):
            events.append(event)
    return tuple(events)


def was_saved(events: Iterable[StorageEvent]) -> bool:
    """Whether a save succeeded: it was reported stored and no error stands after that."""
    last = [event.event for event in events if event.event in ("stored", "error")]
    return bool(last) and last[-1] == "stored"


def _event(text: str) -> StorageEvent | None:
    for event, kind, shape in _SHAPES:
        if found := shape.match(text):
            values = _numbers(found)
            version, size, crc = values.pop("version", None), values.pop("bytes", None), values.pop("crc", None)
            return StorageEvent(
                event,
                kind,
                version if isinstance(version, str) else None,
                size if isinstance(size, int) else None,
                crc if isinstance(crc, int) else None,
                values,
            )
    return None


def _numbers(found: re.Match[str]) -> dict[str, str | int]:
    stated = {name: value for name, value in found.groupdict().items() if value is not None}
    return {name: value if name in _TEXTS else int(value) for name, value in stated.items()}
