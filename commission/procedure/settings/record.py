"""A settings report as it goes into the book and comes back from it."""

from dataclasses import dataclass
from functools import cached_property, lru_cache

from commission.dialect.framing import RawLine
from commission.dialect.understanding import understand
from commission.evidence.findings.settings import (
    SettingsAfterReflash,
    SettingsAfterRestore,
    SettingsAsFound,
    SettingsAsLeft,
    SettingsReported,
    SettingsValues,
)
from commission.settings.gaps import Gaps, gaps_of
from commission.settings.snapshot import NoReport, Snapshot, snapshot_of

SNAPSHOTS: tuple[type[SettingsReported], ...] = (
    SettingsAsFound,
    SettingsAfterReflash,
    SettingsAfterRestore,
    SettingsAsLeft,
)
"""The findings that hold a whole settings report."""


@dataclass(frozen=True)
class Sheet:
    """What heads the papers of a run.

    Attributes:
        tag: the owner's name for the printer.
        day: ISO date, for file names and headings.
    """

    tag: str
    day: str


@lru_cache(maxsize=64)  # as read, as written and as it is on record, a report mostly has the same lines
def _snapshot(lines: tuple[str, ...]) -> Snapshot:
    understood = understand([RawLine.of(line) for line in lines])
    return snapshot_of(understood.settings, kept=understood.unrecognised)


@dataclass(frozen=True)
class SettingsRecord:
    """One settings report with where it came from.

    Attributes:
        lines: the report, verbatim as printable lines.
        source: `printer`, or the name of the capture it was read from.
        day: ISO date on which it was taken, or on which the capture was read.
        firmware: as announced when it was taken; empty when not known.
        reads: how often it was asked for.
        complete: its end was seen, and it came the same twice in a row.

    Raises:
        NoReport: the lines hold no settings.
    """

    lines: tuple[str, ...]
    source: str
    day: str
    firmware: str = ""
    reads: int = 1
    complete: bool = False

    def __post_init__(self) -> None:
        if not self.snapshot.lines:
            raise NoReport("The reply holds no settings line.")

    @cached_property
    def snapshot(self) -> Snapshot:
        """The settings in it."""
        return _snapshot(tuple(self.lines))

    @cached_property
    def gaps(self) -> Gaps:
        """What is missing from it because it was cut or damaged."""
        return gaps_of(self.lines, self.snapshot, ended=True if self.complete else None)

    def values(self) -> SettingsValues:
        """The report, for a finding that holds it."""
        return {
            "lines": self.lines,
            "source": self.source,
            "day": self.day,
            "firmware": self.firmware,
            "reads": self.reads,
            "complete": self.complete,
            "digest": self.snapshot.digest,
            "settings_lines": len(self.snapshot.lines),
            "length_unit": self.snapshot.units.length.value,
            "temperature_unit": self.snapshot.units.temperature.value,
            "unrecognised": self.snapshot.kept,
        }

    def same_report(self, other: "SettingsRecord") -> bool:
        """Whether both hold one report: the same lines from the same source, asked for as often."""
        return (self.lines, self.source, self.reads) == (other.lines, other.source, other.reads)

    @classmethod
    def on_record(cls, found: SettingsReported) -> "SettingsRecord":
        """The report as the record holds it.

        Raises:
            NoReport: it holds no settings, or not those whose digest it states.
        """
        record = cls(found.lines, found.source, found.day, found.firmware, found.reads, found.complete)
        if record.snapshot.digest != found.digest:
            raise NoReport("What the book holds of the settings is read otherwise than when it was written.")
        return record
