"""Several sensors in one run: one after the other, each with its own verdict; that of the run is the worst."""

from collections.abc import Callable, Sequence
from typing import TypeVar

from commission.asking.message import Tell
from commission.asking.of_sensor import for_sensor, progress_of
from commission.asking.phase import Progress
from commission.asking.steps import Steps, establish
from commission.dialect.sources.search import Found
from commission.evidence.findings.several import SensorBegun, SensorsJudged, SensorsToTest, SensorVerdict
from commission.judge.paths import worst
from commission.procedure.meeting.paths import PATHS, PathsShown, which_paths
from commission.procedure.meeting.sensor_met import SensorMet
from commission.vocabulary import Verdict

_T = TypeVar("_T")
Tested = Callable[[str, Progress], Steps[_T]]
"""The steps that test one sensor, by its name and what of them stands already."""


def begun(sensors: Sequence[str]) -> Steps[None]:
    """Record which sensors this run tests."""
    said = f"{len(sensors)} sensors are tested, one after the other: {', '.join(sensors)}."
    yield from establish(SensorsToTest(sentences=(said,), sensors=tuple(sensors)))


def proven_paths(sensors: Sequence[Found], progress: Progress) -> Steps[PathsShown]:
    """Which sensor belongs to which path, now or as this run has shown it."""
    return (yield from progress.do(PATHS, lambda: which_paths(sensors)))


def one_after_the_other(
    sensors: Sequence[str], paths: dict[str, str], progress: Progress, tested: Tested[_T]
) -> Steps[dict[str, _T]]:
    """Test each sensor by these steps, and give back what each came to, by its name."""
    came_to: dict[str, _T] = {}
    for number, sensor in enumerate(sensors, start=1):
        others = tuple(each for each in sensors if each != sensor)
        path = paths.get(sensor, "")
        yield from establish(turn_of(sensor, number, len(sensors), path))
        steps = tested(sensor, progress_of(progress, sensor, others))
        came_to[sensor] = yield from for_sensor(sensor, others, steps)
    return came_to


def alone(sensors: Sequence[str], met: SensorMet | None, sensor: str, steps: Steps[_T]) -> Steps[_T]:
    """Carry out what is done on one sensor of a printer that may have several: these then bear its name.

    Args:
        sensors: as the record has them; empty where the printer's only sensor is on record, or none.
        met: the sensor as it was met; None where the printer was not asked.
        sensor: the one that this run is about.
        steps: what is done on it, not yet begun.
    """
    there = () if met is None else met.reports
    others = tuple(name for name in dict.fromkeys((*sensors, *there)) if name != sensor)
    if others:
        said = (
            f"This printer has {1 + len(others)} sensors. This run is about {sensor} alone; not about {_and(others)}."
        )
        yield Tell((said, "Another one is named by `--source`."))
    if sensors and others:
        yield from establish(turn_of(sensor, 1, 1))
    return (yield from for_sensor(sensor, others, steps))


def _and(names: Sequence[str]) -> str:
    return names[0] if not names[1:] else f"{', '.join(names[:-1])} and {names[-1]}"


def turn_of(sensor: str, number: int, sensors: int, path: str = "") -> SensorBegun:
    """That from here on everything belongs to this sensor."""
    which = f"{sensor} ({path})" if path else sensor
    said = f"Sensor {number} of {sensors}: {which}. Until it is judged every prompt means this sensor and its filament."
    if sensors == 1:
        said = f"This run is about one sensor: {which}. Every prompt means this sensor and its filament."
    return SensorBegun(sentences=(said,), sensor=sensor, number=number, sensors=sensors, path=path)


def judged(verdicts: dict[str, Verdict], paths: dict[str, str], beside: Verdict) -> Steps[Verdict]:
    """Say what each sensor came to; the whole is the worst of them, and no better than `beside`.

    Args:
        verdicts: of each sensor.
        paths: of each sensor.
        beside: what was shown of all of them together.
    """
    whole = worst((*verdicts.values(), beside))
    said = [
        f"{name} ({paths[name]}): {verdict.value}." if paths.get(name) else f"{name}: {verdict.value}."
        for name, verdict in verdicts.items()
    ]
    sensors = tuple(
        SensorVerdict(sensor=name, path=paths.get(name, ""), verdict=verdict) for name, verdict in verdicts.items()
    )
    said.append(f"Of all sensors together: {whole.value}, the worst of them.")
    yield from establish(SensorsJudged(sentences=tuple(said), verdict=whole, sensors=sensors))
    return whole


def beside_paths(paths: Verdict) -> Verdict:
    """What the paths leave of a verdict: not proven they cost the full pass, crossed they fail the run."""
    return Verdict.CONDITIONAL if paths is Verdict.NOT_JUDGED else paths
