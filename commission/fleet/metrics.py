"""The overview as OpenMetrics text (OpenMetrics 1.0): for a collector that reads a file.

Names end in their unit where they have one. Days are told as the second in which they begin, in UTC. What is not known
has no sample: silence is never a nought.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from enum import Enum

from commission.dialect.sanitise import clean_text
from commission.fleet.overview import Done, Printer
from commission.records.due import Standing
from commission.vocabulary import FailSafe, Verdict

_Labels = dict[str, str]


@dataclass(frozen=True)
class _Family:
    """One metric with its samples: labels and value, of each printer."""

    name: str
    kind: str
    about: str
    samples: tuple[tuple[_Labels, float], ...]
    unit: str = ""

    def lines(self) -> Iterator[str]:
        """Its text; a family without a sample is left out whole."""
        if not self.samples:
            return
        yield f"# TYPE {self.name} {self.kind}"
        if self.unit:
            yield f"# UNIT {self.name} {self.unit}"
        yield f"# HELP {self.name} {self.about}"
        ending = "_info" if self.kind == "info" else ""
        for labels, value in self.samples:
            told = ",".join(f'{name}="{_escaped(text)}"' for name, text in labels.items())
            yield f"{self.name}{ending}{{{told}}} {value:.10g}" if told else f"{self.name}{ending} {value:.10g}"


def as_openmetrics(printers: Sequence[Printer], at: datetime) -> bytes:
    """The whole file, drawn at that moment."""
    drawn = _Family(
        "commission_overview_timestamp_seconds",
        "gauge",
        "When this file was drawn.",
        (({}, round(at.timestamp())),),
        "seconds",
    )
    families = (drawn, *_of_printers(printers))
    return ("\n".join([*(line for family in families for line in family.lines()), "# EOF"]) + "\n").encode()


def _of_printers(printers: Sequence[Printer]) -> Iterator[_Family]:
    yield _Family(
        "commission_printer",
        "info",
        "Place and firmware.",
        tuple(({**_of(each), "place": each.place, "firmware": each.firmware}, 1) for each in printers),
    )
    yield _states(
        "commission_standing", "How urgent the next check is.", Standing, [(each, each.standing) for each in printers]
    )
    yield _states(
        "commission_verdict",
        "Of the newest completed test with hands.",
        Verdict,
        [(each, each.verdict) for each in printers],
    )
    yield _states(
        "commission_wiring",
        "What a broken wire reads as.",
        FailSafe,
        [(each, FailSafe(each.wiring)) for each in printers],
    )
    yield _days(
        "commission_next_check_timestamp_seconds",
        "Day of the next check.",
        [(_of(each), each.due.on if each.due else None) for each in printers],
    )
    yield _days(
        "commission_last_check_timestamp_seconds",
        "Day of the newest completed check of each kind.",
        [
            ({**_of(each), "check": kind}, done.on if done else None)
            for each in printers
            for kind, done in _checks(each).items()
        ],
    )
    yield _days(
        "commission_settings_backup_timestamp_seconds",
        "Day of the newest settings report in the record.",
        [(_of(each), each.backup_on) for each in printers],
    )
    yield _counts("commission_open_unsafe_items", "Of class A, failures among them.", printers, "unsafe")
    yield _counts(
        "commission_noted_changes", "Repaired, rewired or reflashed since the newest whole test.", printers, "changed"
    )
    yield _counts("commission_noted_nuisance_trips", "Since the newest whole test.", printers, "nuisances")
    yield _Family(
        "commission_runout_detection_enabled",
        "gauge",
        "1 where it was on when it was last asked, 0 where it was off.",
        tuple((_of(each), float(not each.runout_off)) for each in printers if each.runout_off is not None),
    )


def _checks(printer: Printer) -> dict[str, Done | None]:
    return {"full": printer.full, "brief": printer.brief, "soak": printer.soak}


def _of(printer: Printer) -> _Labels:
    return {"printer": printer.tag}


def _states(name: str, about: str, states: type[Enum], now: Sequence[tuple[Printer, Enum]]) -> _Family:
    """A set of states, of which one is 1 and the others are 0."""
    samples = ((_of(each) | {name: state.value}, float(state is its)) for each, its in now for state in states)
    return _Family(name, "stateset", about, tuple(samples))


def _days(name: str, about: str, days: Sequence[tuple[_Labels, date | None]]) -> _Family:
    samples = ((labels, _begin(day)) for labels, day in days if day is not None)
    return _Family(name, "gauge", about, tuple(samples), "seconds")


def _begin(day: date) -> float:
    return datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp()


def _counts(name: str, about: str, printers: Sequence[Printer], what: str) -> _Family:
    numbers = ((each, getattr(each, what)) for each in printers)
    samples = ((_of(each), float(number if isinstance(number, int) else len(number))) for each, number in numbers)
    return _Family(name, "gauge", about, tuple(samples))


def _escaped(text: str) -> str:
    """A label's value: backslash, quotes and line feed are escaped; what does not print was made visible before."""
    return clean_text(text).replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
