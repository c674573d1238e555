"""A bench in memory whose printer has two sensors, each with a filament, a plug and faults of its own."""

from dataclasses import dataclass, replace
from pathlib import Path

from commission.asking.steps import Steps
from commission.evidence.findings.several import SensorBegun, SensorsJudged
from commission.jobs.install import JobResult, install_run
from commission.judge.plan import Plan
from commission.procedure.settings.record import Sheet
from tests.support.fake_bench import FakeBench
from tests.support.installed import TODAY, UNKNOWN

FIRST, SECOND = "filament", "filament 2"
NAMES = (FIRST, SECOND)


@dataclass
class Fitted:
    """One sensor as it is fitted, and what the hands have done to it."""

    present: bool = False
    unplugged: bool = False
    laid: str = ""
    dead: bool = False
    inverted: bool = False
    unplugged_is_active: bool = False


class TwoSensorBench(FakeBench):
    """Steer it by `sensors` (each by its line), and `swapped` (each filament moves the other one's switch)."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self.sensors = {name: Fitted() for name in NAMES}
        self.swapped = False

    def reads(self, name: str) -> bool:
        """What the firmware would say of that line now: whether it is active."""
        sensor = self.sensors[name]
        if sensor.unplugged:
            return sensor.unplugged_is_active != (sensor.laid == "small")
        moved = self.sensors[_other(name)] if self.swapped else sensor
        return (moved.present and not sensor.dead) != sensor.inverted

    def _states(self) -> bytes | None:
        self.queries += 1
        surprise = self.surprise(self.queries)
        if surprise is not None:
            return surprise or None
        words = {True: "TRIGGERED", False: "open"}
        lines = "".join(f"{name}: {words[self.reads(name)]}\n" for name in NAMES)
        return f"Reporting endstop status\nx_min: open\n{lines}ok\n".encode()

    def _operator(self, key: str) -> bool | str | None:
        if key.startswith("paths.") and key[6].isdigit():
            self.sensors[NAMES[int(key[6]) - 1]].present = key.endswith(".insert")
        if self.under_test:
            self._follow(self.sensors[self.under_test], key)
        return super()._operator(key)

    @property
    def under_test(self) -> str:
        """The sensor whose turn it is; empty where it is nobody's."""
        turns = [each for each in self.desk.findings if isinstance(each, SensorBegun | SensorsJudged)]
        return turns[-1].sensor if turns and isinstance(turns[-1], SensorBegun) else ""

    def put_right(self) -> None:
        """A person puts everything as it was before the run."""
        for sensor in self.sensors.values():
            sensor.present, sensor.unplugged, sensor.laid = False, False, ""

    def _follow(self, sensor: Fitted, key: str) -> None:
        """What the base's hands do to its only sensor is done to this one."""
        self.present, self.unplugged, self.laid = sensor.present, sensor.unplugged, sensor.laid
        super()._operator(key)
        sensor.present, sensor.unplugged, sensor.laid = self.present, self.unplugged, self.laid


def _other(name: str) -> str:
    return SECOND if name == FIRST else FIRST


def both(plan: Plan) -> Steps[JobResult]:
    """The whole job on both sensors, named beforehand."""
    surroundings = replace(UNKNOWN.surroundings, source="all")
    background = replace(UNKNOWN, surroundings=surroundings)
    return install_run(plan, "R. Okafor", background, Sheet("bench-3", TODAY.isoformat()))
