"""Temperature and position reports, asked for or sent unasked; and what a printer says of two of its limits."""

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from commission.dialect.framing import RawLine
from commission.dialect.replies import Reply, ReplyKind, classify

_NUMBER = r"-?\d{1,9}(?:\.\d{0,9})?"
_HEATER = re.compile(
    rf"(?:^|(?<=\s))(?P<name>T\d{{0,2}}|[BCPALRM]): ?(?P<actual>{_NUMBER})(?: */ *(?P<target>{_NUMBER}))?"
)
_AXIS = re.compile(rf"(?:^|(?<=[\s\d]))(?P<name>[A-Z]): ?(?P<value>{_NUMBER})")
_COLD = re.compile(
    r"(?:echo:)?\s*cold extrudes are (?P<state>enabled|disabled) \(min temp (?P<limit>\d{1,4}(?:\.\d{1,4})?) ?C?\)",
    re.IGNORECASE,
)
_KEEPALIVE = re.compile(r"(?:echo:)?\s*M113 S(?P<interval>\d{1,5}(?:\.\d{1,4})?)\s*$")
_COUNT = re.compile(r"\bCount\b")


@dataclass(frozen=True)
class Heater:
    """What one heater reports.

    Attributes:
        actual_c: measured temperature in degrees Celsius; far below zero means no sensor.
        target_c: target in degrees Celsius; None when not stated.
    """

    actual_c: float
    target_c: float | None = None

    def __post_init__(self) -> None:
        if not math.isfinite(self.actual_c):
            raise ValueError("a temperature is a finite number")


@dataclass(frozen=True)
class TemperatureReport:
    """One temperature report: heaters by the printer's own letters (`T`, `T1`, `B` for the bed...)."""

    heaters: Mapping[str, Heater]

    def __post_init__(self) -> None:
        object.__setattr__(self, "heaters", MappingProxyType(dict(self.heaters)))

    @property
    def any_target(self) -> bool:
        """Whether any heater is said to have a target above zero."""
        return any((heater.target_c or 0) > 0 for heater in self.heaters.values())

    @property
    def all_targets_known(self) -> bool:
        """Whether every heater states its target."""
        return all(heater.target_c is not None for heater in self.heaters.values())


@dataclass(frozen=True)
class PositionReport:
    """One position report: the planned position in millimetres, not a measured one."""

    axes_mm: Mapping[str, float]

    def __post_init__(self) -> None:
        object.__setattr__(self, "axes_mm", MappingProxyType(dict(self.axes_mm)))


@dataclass(frozen=True)
class ColdExtrusion:
    """Whether filament is driven cold.

    Attributes:
        allowed: it is driven at any temperature.
        limit_c: below this many degrees Celsius it is not driven, unless allowed.
    """

    allowed: bool
    limit_c: float


def cold_extrusion_of(lines: Iterable[str]) -> ColdExtrusion | None:
    """What these lines last say of cold extrusion, or None."""
    found = [match for line in lines if (match := _COLD.match(line))]
    return ColdExtrusion(found[-1]["state"].lower() == "enabled", float(found[-1]["limit"])) if found else None


def keepalive_interval_of(lines: Iterable[str]) -> float | None:
    """How often a busy printer says so, in seconds, as these lines last say; None when they do not."""
    found = [match for line in lines if (match := _KEEPALIVE.match(line))]
    return float(found[-1]["interval"]) if found else None


def temperature_in(reply: Reply) -> TemperatureReport | None:
    """The temperatures one line reports, or None."""
    said = _said(reply, ReplyKind.TEMPERATURE)
    if said is None or not re.match(r"\s*(?:T\d{0,2}|[BC]): ?-?\d", said):
        return None
    heaters: dict[str, Heater] = {}
    for found in _HEATER.finditer(said):
        target = found["target"]
        heaters.setdefault(found["name"], Heater(float(found["actual"]), float(target) if target else None))
    return TemperatureReport(heaters) if heaters else None


def position_in(reply: Reply) -> PositionReport | None:
    """The position one line reports, or None. Step counts are left out."""
    said = _said(reply, ReplyKind.POSITION)
    if said is None or not re.match(r"\s*(?:C: ?)?X:", said):
        return None
    planned = _COUNT.split(said, maxsplit=1)[0]
    axes = {found["name"]: float(found["value"]) for found in _AXIS.finditer(planned)}
    return PositionReport(axes) if axes else None


def temperatures_of(lines: Iterable[str]) -> tuple[TemperatureReport, ...]:
    """Every temperature report among these lines, in order."""
    reports = (temperature_in(classify(RawLine.of(line))) for line in lines)
    return tuple(report for report in reports if report is not None)


def _said(reply: Reply, kind: ReplyKind) -> str | None:
    if reply.kind is kind:
        return reply.text
    return reply.data if reply.kind is ReplyKind.ACKNOWLEDGED else None
