"""What a capture says, as one record, and that record as plain data for JSON.

The schema of the plain data is published beside this file, as `reading.schema.json`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib import resources
from types import MappingProxyType

from commission.dialect.events import Event
from commission.dialect.identity import Identity
from commission.dialect.pins import Pin
from commission.dialect.runout import RunoutControl
from commission.dialect.settings_lines import SettingsLine
from commission.dialect.sources.report import SourceReport
from commission.dialect.storage import StorageEvent
from commission.dialect.switches import SwitchState


@dataclass(frozen=True)
class Acknowledgement:
    """One acknowledgement and what it states.

    Attributes:
        line: the line number it names.
        planner_free: free places in the planner, in blocks.
        queue_free: free places in the command queue.
    """

    line: int | None = None
    planner_free: int | None = None
    queue_free: int | None = None


@dataclass(frozen=True)
class Understanding:
    """What a capture says, topic by topic, each in the order of the lines.

    Attributes:
        identity: who the printer says it is; None when it does not.
        switches: every switch state.
        settings: every settings line.
        runout_control: what is stated of runout control.
        pins: every pin.
        sources: every source that a filament sensor can be read by, as far as a reply reports on it.
        stored_settings: every message about the stored settings.
        acknowledgements: every acknowledgement.
        events: everything else that is understood.
        unrecognised: lines that are not.
        topics: how many lines each topic took, headings and blank lines among them.
    """

    identity: Identity | None = None
    switches: tuple[SwitchState, ...] = ()
    settings: tuple[SettingsLine, ...] = ()
    runout_control: RunoutControl = field(default_factory=RunoutControl)
    pins: tuple[Pin, ...] = ()
    sources: tuple[SourceReport, ...] = ()
    stored_settings: tuple[StorageEvent, ...] = ()
    acknowledgements: tuple[Acknowledgement, ...] = ()
    events: tuple[Event, ...] = ()
    unrecognised: tuple[str, ...] = ()
    topics: Mapping[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "topics", MappingProxyType(dict(self.topics)))


def schema_text() -> str:
    """The published schema, as JSON."""
    return (resources.files("commission.dialect") / "reading.schema.json").read_text(encoding="utf-8")


def as_json(understanding: Understanding) -> dict[str, object]:
    """The reading as the published schema describes it; what was not stated is null."""
    return {
        "identity": _identity(understanding.identity),
        "switches": [
            {"name": switch.name, "wire_word": switch.wire_word, "reading": switch.reading.value}
            for switch in understanding.switches
        ],
        "settings": [_setting(item) for item in understanding.settings],
        "runout_control": _runout(understanding.runout_control),
        "pins": [_pin(pin) for pin in understanding.pins],
        "sources": [_source(source) for source in understanding.sources],
        "stored_settings": [_storage(event) for event in understanding.stored_settings],
        "acknowledgements": [
            {"line": each.line, "planner_free": each.planner_free, "queue_free": each.queue_free}
            for each in understanding.acknowledgements
        ],
        "events": [_event(event) for event in understanding.events],
        "unrecognised": list(understanding.unrecognised),
    }


def _identity(identity: Identity | None) -> dict[str, object] | None:
    if identity is None:
        return None
    return {
        "firmware_name": identity.firmware_name,
        "firmware_version": identity.firmware_version,
        "machine": identity.machine,
        "extruders": identity.extruders,
        "uuid": identity.uuid,
        "capabilities": dict(identity.capabilities),
    }


def _setting(item: SettingsLine) -> dict[str, object]:
    return {
        "command": item.command,
        "selectors": dict(item.selectors),
        "values": dict(item.values),
        "flags": list(item.flags),
        "occurrence": item.occurrence,
        "line": item.line,
    }


def _runout(control: RunoutControl) -> dict[str, object]:
    return {
        "supported": control.supported,
        "enabled": control.enabled,
        "distance_mm": control.distance_mm,
        "motion_distance_mm": control.motion_distance_mm,
        "host_handling": control.host_handling,
        "filament_claimed": control.filament_claimed.value if control.filament_claimed else None,
        "absent_level": control.absent_level.value if control.absent_level else None,
    }


def _pin(pin: Pin) -> dict[str, object]:
    return {
        "pin": pin.pin,
        "names": list(pin.names),
        "mode": pin.mode,
        "level": pin.level.value if pin.level else None,
        **({"port": pin.port} if pin.port else {}),
    }


def _source(source: SourceReport) -> dict[str, object]:
    return {
        "kind": source.kind.value,
        "name": source.name,
        "presence": source.presence.value if source.presence else None,
        "enabled": source.enabled,
        "absent_level": source.absent_level.value if source.absent_level else None,
        "error": source.error,
    }


def _storage(event: StorageEvent) -> dict[str, object]:
    return {
        "event": event.event,
        "kind": event.kind,
        "version": event.version,
        "bytes": event.bytes,
        "crc": event.crc,
        **event.details,
    }


def _event(event: Event) -> dict[str, object]:
    return {"event": event.event, "text": event.text, **{name: _plain(value) for name, value in event.details.items()}}


def _plain(value: object) -> object:
    return {key: _plain(each) for key, each in value.items()} if isinstance(value, Mapping) else value
