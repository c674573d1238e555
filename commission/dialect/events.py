"""What a printer says without being asked, or beside an answer, as one kind of fact."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from commission.dialect.replies import Reply, ReplyKind
from commission.dialect.reports import position_in, temperature_in

Detail = str | int | float | bool | None | Mapping[str, object]

_NAMED_VERSION = re.compile(
    r"(?:echo:)?\s*(?P<name>[A-Za-z][\w-]{1,40}) "
    r"(?P<version>(?:bugfix-)?\d{1,4}(?:\.(?:\d{1,4}|x)){1,4}[\w.-]{0,20})\s*$"
)
# Text lines that mean something to a person at the machine: kind, and how they are worded.
_WORDINGS = (
    ("statistics", re.compile(r"Printed filament:")),
    ("instruction", re.compile(r"(?:echo:)?\s*(?:insert filament|send M108|press button)\b", re.IGNORECASE)),
    ("cold_extrusion", re.compile(r"(?:echo:)?\s*cold extrudes are\b", re.IGNORECASE)),
    ("too_cold", re.compile(r"(?:echo:)?\s*(?:hotend too cold|cold extrusion prevented)\b", re.IGNORECASE)),
)
_PROMPTS = ("prompt_begin", "prompt_button", "prompt_choice", "prompt_show", "prompt_end")
_RESET_CAUSE = re.compile(r"(?:echo:)?\s*((?:external|brown ?-?out|watchdog|software|power ?up)\b.*)", re.IGNORECASE)


@dataclass(frozen=True)
class Event:
    """One thing the printer said of itself.

    Attributes:
        event: what kind, as in the published reading.
        text: the line, printable.
        details: what the line states beyond its kind.
    """

    event: str
    text: str
    details: Mapping[str, Detail] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not self.event:
            raise ValueError("an event has a kind")
        object.__setattr__(self, "details", MappingProxyType(dict(self.details)))


def event_of(reply: Reply) -> Event | None:
    """The event one line is, or None: an acknowledgement is one only by the report it carries."""
    build = _EVENTS.get(reply.kind)
    return None if build is None else build(reply)


def firmware_banner(text: str) -> Event | None:
    """A line that is a name and a version; only beside other boot lines does that mean a firmware announces itself."""
    found = _NAMED_VERSION.match(text)
    if found is None:
        return None
    return Event("firmware", text, {"name": found["name"], "version": found["version"]})


def worded_event(text: str) -> Event | None:
    """A text line known by its wording: lifetime figures, an instruction to the operator, a refusal to extrude cold."""
    return next((Event(kind, text) for kind, wording in _WORDINGS if wording.match(text)), None)


def _named(kind: str) -> Callable[[Reply], Event]:
    return lambda reply: Event(kind, reply.text)


def _with_reason(kind: str) -> Callable[[Reply], Event]:
    return lambda reply: Event(kind, reply.text, {"reason": reply.argument})


def _with_command(kind: str) -> Callable[[Reply], Event]:
    return lambda reply: Event(kind, reply.text, {"command": reply.command})


def _action(reply: Reply) -> Event:
    kind = "prompt" if reply.action in _PROMPTS else "action"
    return Event(kind, reply.text, {"action": reply.action, "argument": reply.argument or None})


def _banner(reply: Reply) -> Event:
    cause = _RESET_CAUSE.match(reply.text)
    return Event("boot", reply.text, {"cause": cause[1].strip() if cause else None})


def _error(reply: Reply) -> Event:
    kind = reply.error.value if reply.error else None
    return Event("error", reply.text, {"kind": kind, "last_line": reply.last_line})


def _temperature(reply: Reply) -> Event | None:
    report = temperature_in(reply)
    if report is None:
        return None
    heaters: dict[str, object] = {
        name: {"actual_c": heater.actual_c, "target_c": heater.target_c} for name, heater in report.heaters.items()
    }
    return Event("temperature", reply.text, {"heaters": heaters})


def _position(reply: Reply) -> Event | None:
    report = position_in(reply)
    return None if report is None else Event("position", reply.text, {"axes_mm": dict(report.axes_mm)})


_EVENTS: dict[ReplyKind, Callable[[Reply], Event | None]] = {
    ReplyKind.ACKNOWLEDGED: lambda reply: _temperature(reply) or _position(reply),
    ReplyKind.BUSY: _with_reason("busy"),
    ReplyKind.PAUSED_FOR_USER: _with_reason("paused_for_user"),
    ReplyKind.IDLE: _named("idle"),
    ReplyKind.BANNER: _banner,
    ReplyKind.ERROR: _error,
    ReplyKind.HALTED: _error,
    ReplyKind.RESEND: lambda reply: Event("resend", reply.text, {"line": reply.resend_line}),
    ReplyKind.UNKNOWN_COMMAND: _with_command("unknown_command"),
    ReplyKind.ACTION: _action,
    ReplyKind.TEMPERATURE: _temperature,
    ReplyKind.POSITION: _position,
    ReplyKind.ENDSTOPS_HIT: _named("endstops_hit"),
    ReplyKind.ECHOED_COMMAND: _with_command("echoed_command"),
    ReplyKind.INJECTED_COMMAND: _with_command("injected_command"),
    ReplyKind.CARD: _named("card"),
}
