"""The counter of pulses that moving filament makes: it proves movement and never presence."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from commission.dialect.sources.report import SourceKind, SourceReport

_MOVED = re.compile(r"extruder moved: *(?P<mm>-?\d{1,9}(?:\.\d{1,9})?) *mm\b", re.IGNORECASE)
_PULSES = re.compile(r"encoder pulses: *(?P<count>\d{1,9})\s*$", re.IGNORECASE)
_TRIGGERED = re.compile(r"filament detector triggered\b", re.IGNORECASE)
_ENABLED = re.compile(r"filament detector is (?P<state>enabled|disabled)\b", re.IGNORECASE)


@dataclass(frozen=True)
class PulseCount:
    """What the counter says. The count starts anew with each check of the printer's own.

    Attributes:
        moved_mm: how far the drive moved, in millimetres; None when not stated.
        pulses: how many pulses came meanwhile; None when not stated.
        triggered: the printer says that it found the filament stuck or broken.
        enabled: whether the counter is watched; None when not stated.
    """

    moved_mm: float | None = None
    pulses: int | None = None
    triggered: bool = False
    enabled: bool | None = None

    @property
    def report(self) -> SourceReport:
        """It as a source."""
        error = "the detector has triggered" if self.triggered else None
        return SourceReport(SourceKind.PULSE_COUNTER, "filament detector", enabled=self.enabled, error=error)


def count_in(lines: Iterable[str]) -> PulseCount:
    """What an answer says of the counter; nothing is stated where it says nothing of it."""
    known: PulseCount | None = None
    for line in lines:
        known = counted(known, line) or known
    return known or PulseCount()


def counted(known: PulseCount | None, text: str) -> PulseCount | None:
    """What is known of the counter with one more line of its report; None when the line is no part of one."""
    before = known or PulseCount()
    if found := _MOVED.match(text):
        return replace(before, moved_mm=float(found["mm"]))
    if found := _PULSES.match(text):
        return replace(before, pulses=int(found["count"]))
    if _TRIGGERED.match(text):
        return replace(before, triggered=True)
    if found := _ENABLED.match(text):
        return replace(before, enabled=found["state"].lower() == "enabled")
    return None
