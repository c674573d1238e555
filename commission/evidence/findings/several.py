"""What was established of several sensors that are tested in one run."""

from typing import ClassVar

from msgspec import Struct

from commission.evidence.findings.base import Finding
from commission.vocabulary import Verdict


class SensorsToTest(Finding, frozen=True, kw_only=True, tag="sensors_to_test"):
    """The sensors that this run tests one after the other, in that order."""

    newest_stands: ClassVar[bool] = True
    sensors: tuple[str, ...]


class SeenOfPath(Struct, frozen=True, kw_only=True):
    """What moving the filament of one path showed.

    Attributes:
        path: what the path is called.
        sensor: which sensor belongs to it by the printer, or as the operator says.
        followed: the sensors whose readings followed this filament.
        unread: the sensors that could not be read meanwhile.
    """

    path: str
    sensor: str
    followed: tuple[str, ...]
    unread: tuple[str, ...] = ()


class PathsSeen(Finding, frozen=True, kw_only=True, tag="paths_seen"):
    """Which sensor belongs to which path, by moving one filament at a time."""

    title: ClassVar[str] = "Which sensor belongs to which path"
    newest_stands: ClassVar[bool] = True
    verdict: Verdict
    paths: tuple[SeenOfPath, ...]


class SensorBegun(Finding, frozen=True, kw_only=True, tag="sensor_begun"):
    """From here on everything belongs to this sensor, until the next one begins or all are judged.

    Attributes:
        sensor: how it is read.
        number: which one it is in the order of the run, from 1.
        sensors: how many there are.
        path: the filament path it belongs to; empty where nobody named one.
    """

    title: ClassVar[str] = "Sensor under test"
    sensor: str
    number: int
    sensors: int
    path: str = ""


class SensorVerdict(Struct, frozen=True, kw_only=True):
    """One sensor with the verdict on it."""

    sensor: str
    path: str
    verdict: Verdict


class SensorsJudged(Finding, frozen=True, kw_only=True, tag="sensors_judged"):
    """Every sensor with its own verdict; that of the run is the worst. What follows belongs to no sensor."""

    title: ClassVar[str] = "Verdict on each sensor"
    newest_stands: ClassVar[bool] = True
    verdict: Verdict
    sensors: tuple[SensorVerdict, ...]
