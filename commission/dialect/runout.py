"""Runout control: whether the firmware watches the sensor, and how. It is not the sensor's state."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from commission.dialect.framing import RawLine
from commission.dialect.replies import ReplyKind, acknowledgement, classify
from commission.dialect.sources.monitors import monitor_in
from commission.dialect.sources.report import SourceKind, SourceReport, told
from commission.vocabulary import Level, Presence

_NUMBER = r"(?P<mm>\d{1,9}(?:\.\d{1,9})?)"
_STATE = re.compile(r"(?:echo:)?\s*filament runout:? (?P<state>on|off)\b", re.IGNORECASE)
_DISTANCE_LINE = re.compile(rf"(?:echo:)?\s*filament runout distance \(mm\): ?{_NUMBER}", re.IGNORECASE)
_DISTANCE = re.compile(rf"[;,] *distance {_NUMBER}", re.IGNORECASE)
_MOTION = re.compile(rf"[;,] *motion distance {_NUMBER}", re.IGNORECASE)
_HOST = re.compile(r"[;,] *host handling (?P<state>on|off)\b", re.IGNORECASE)
_CLAIM = re.compile(r"[;,] *sensor: *(?P<claim>[a-z ]{1,40})", re.IGNORECASE)
# Some forks add one line per sensor below the two of their report, each with its label of the switch report.
_LABELLED = re.compile(r"(?:echo:)?\s*(?P<label>filament(?: \d)?): *(?P<claim>[a-z ]{1,40}?)\s*$", re.IGNORECASE)
_ABSENT_WORDS = re.compile(
    r"(?:filament )?(?:no filament|not (?:present|detected|loaded|inserted)|absent|missing|out|empty)$", re.IGNORECASE
)
_PRESENT_WORDS = re.compile(r"(?:filament )?(?:present|detected|loaded|inserted|in)$", re.IGNORECASE)


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
    return any(shape.match(text) for shape in (_STATE, _DISTANCE_LINE)) or monitor_in(text) is not None


def word_report_in(text: str) -> SourceReport | None:
    """What a line of runout control says of the filament as a source, or None: most builds say nothing."""
    found = _CLAIM.search(text) if _STATE.match(text) else None
    if found is None:
        return None
    return told(
        SourceKind.RUNOUT_WORD, "sensor", _meant(found["claim"]), found["claim"].strip(), enabled=watching_in(text)
    )


def labelled_report_in(text: str, *, enabled: bool | None) -> SourceReport | None:
    """What a line below a report of runout control says of one sensor, or None.

    It counts only there: elsewhere the same words may be anything. Words never seen before leave the presence unknown.
    """
    found = _LABELLED.match(text)
    if found is None:
        return None
    claim = found["claim"].strip()
    return told(SourceKind.RUNOUT_WORD, found["label"], _meant(claim), claim, enabled=enabled)


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
    enabled = watching_in(text)
    distance = _DISTANCE.search(text) or _DISTANCE_LINE.match(text)
    motion = _MOTION.search(text)
    host = _HOST.search(text)
    monitor = monitor_in(text)
    source = word_report_in(text) or (None if monitor is None else monitor.report)
    return replace(
        known,
        enabled=known.enabled if enabled is None else enabled,
        distance_mm=float(distance["mm"]) if distance else known.distance_mm,
        motion_distance_mm=float(motion["mm"]) if motion else known.motion_distance_mm,
        host_handling=host["state"].lower() == "on" if host else known.host_handling,
        filament_claimed=(source.presence if source else None) or known.filament_claimed,
        absent_level=(source.absent_level if source else None) or known.absent_level,
    )


def watching_in(text: str) -> bool | None:
    """Whether a line of runout control says that watching is on; None when it does not say."""
    if found := _STATE.match(text):
        return found["state"].lower() == "on"
    monitor = monitor_in(text)
    return None if monitor is None else monitor.report.enabled


def _meant(claim: str) -> Presence | None:
    """What words on the filament mean; None for words never seen."""
    if _ABSENT_WORDS.match(claim.strip()):
        return Presence.OUT
    return Presence.IN if _PRESENT_WORDS.match(claim.strip()) else None
