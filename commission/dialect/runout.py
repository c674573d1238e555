"""Runout control: whether the firmware watches the sensor, and how. It is not the sensor's state."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from commission.dialect.framing import RawLine
from commission.dialect.replies import ReplyKind, acknowledgement, classify
from commission.vocabulary import Level, Presence

_NUMBER = r"(?P<mm>\d{1,9}(?:\.\d{1,9})?)"
_STATE = re.compile(r"(?:echo:)?\s*filament runout:? (?P<state>on|off)\b", re.IGNORECASE)
_DISTANCE_LINE = re.compile(rf"(?:echo:)?\s*filament runout distance \(mm\): ?{_NUMBER}", re.IGNORECASE)
_DISTANCE = re.compile(rf"[;,] *distance {_NUMBER}", re.IGNORECASE)
_MOTION = re.compile(rf"[;,] *motion distance {_NUMBER}", re.IGNORECASE)
_HOST = re.compile(r"[;,] *host handling (?P<state>on|off)\b", re.IGNORECASE)
_CLAIM = re.compile(r"[;,] *sensor: *(?P<claim>[a-z ]{1,40})", re.IGNORECASE)
_SENSOR = re.compile(
    r".{0,60}?\b(?:filament|magnet|laser|pulse)\b.{0,20}?\b(?:sensor|monitor)\b.{0,40}?"
    r"\bon (?:pin|endstop|input) [^,]{1,40}, *(?P<state>enabled|disabled)",
    re.IGNORECASE,
)
_ABSENT_LEVEL = re.compile(r"\boutput (?P<level>high|low) when no filament", re.IGNORECASE)
_PRESENT = re.compile(r"\bfilament present: *(?P<present>yes|no)\b", re.IGNORECASE)
_ABSENT_WORDS = re.compile(r"\b(?:no|not|absent|missing|out)\b", re.IGNORECASE)


@dataclass(frozen=True)
class RunoutControl:
    """What was stated of runout control; None is not stated, never no.

    Attributes:
        supported: True when a report was given, False when the command was refused.
        enabled: whether the firmware watches at all.
        distance_mm: length still printed after the sensor opened.
        motion_distance_mm: length without a pulse that counts as a jam, for a motion sensor.
        host_handling: the host is expected to react, not the printer.
        filament_claimed: what this report says of the filament; the operator's word is the truth.
        absent_level: level at the input when there is no filament.
    """

    supported: bool | None = None
    enabled: bool | None = None
    distance_mm: float | None = None
    motion_distance_mm: float | None = None
    host_handling: bool | None = None
    filament_claimed: Presence | None = None
    absent_level: Level | None = None

    def __post_init__(self) -> None:
        for length_mm in (self.distance_mm, self.motion_distance_mm):
            if length_mm is not None and length_mm < 0:
                raise ValueError(f"a runout distance is not negative: {length_mm} mm")


def is_runout_line(text: str) -> bool:
    """Whether a line reports on runout control."""
    return any(shape.match(text) for shape in (_STATE, _DISTANCE_LINE, _SENSOR))


def refuses_runout(text: str) -> bool:
    """Whether a line says that the runout command is unknown."""
    reply = classify(RawLine.of(text))
    return reply.kind is ReplyKind.UNKNOWN_COMMAND and re.match(r"M412\b", reply.command or "") is not None


def runout_of(lines: Iterable[str]) -> RunoutControl:
    """Everything these lines state of runout control; a later line replaces an earlier one."""
    known = RunoutControl()
    for line in lines:
        data = acknowledgement(line)
        text = line if data is None else data
        if is_runout_line(text):
            known = replace(_with_line(known, text), supported=True)
        elif known.supported is None and refuses_runout(text):
            known = replace(known, supported=False)
    return known


def _with_line(known: RunoutControl, text: str) -> RunoutControl:
    enabled = known.enabled
    if (state := _STATE.match(text)) or (state := _SENSOR.match(text)):
        enabled = state["state"].lower() in ("on", "enabled")
    distance = _DISTANCE.search(text) or _DISTANCE_LINE.match(text)
    motion = _MOTION.search(text)
    host = _HOST.search(text)
    level = _ABSENT_LEVEL.search(text)
    return replace(
        known,
        enabled=enabled,
        distance_mm=float(distance["mm"]) if distance else known.distance_mm,
        motion_distance_mm=float(motion["mm"]) if motion else known.motion_distance_mm,
        host_handling=host["state"].lower() == "on" if host else known.host_handling,
        filament_claimed=_claim(text) or known.filament_claimed,
        absent_level=Level(level["level"].lower()) if level else known.absent_level,
    )


def _claim(text: str) -> Presence | None:
    if present := _PRESENT.search(text):
        return Presence.IN if present["present"].lower() == "yes" else Presence.OUT
    if claim := _CLAIM.search(text):
        return Presence.OUT if _ABSENT_WORDS.search(claim["claim"]) else Presence.IN
    return None
