"""Steps carried out on one of several sensors: what they ask, say and read back belongs to that sensor."""

from collections.abc import Collection
from dataclasses import replace
from typing import TypeVar

from commission.asking.message import Establish, Punch
from commission.asking.phase import Progress
from commission.asking.request import Choose, Confirm, Enter, Hold, PhaseBegins, PhaseEnds, Recall, Release, Request
from commission.asking.reread import Reread
from commission.asking.response import Interrupted
from commission.asking.steps import Steps
from commission.evidence.findings.meeting import TakenOver
from commission.evidence.sensor_phase import phase_of, phases_of

_T = TypeVar("_T")


def for_sensor(sensor: str, others: Collection[str], steps: Steps[_T]) -> Steps[_T]:
    """Carry the steps out on one sensor. Without others they are carried out as they are.

    Phases get a name of their own, so that each stands for itself when the run is taken up again. Findings of the other
    sensors are never read back. Questions and open items name the sensor.

    Args:
        sensor: how it is read.
        others: the other sensors of the printer.
        steps: not yet begun.
    """
    if not others:
        return (yield from steps)
    broken: Interrupted | None = None
    response: object = None
    try:
        while True:
            request = steps.send(response) if broken is None else steps.throw(broken)
            broken, response = None, None
            try:
                response = yield _of(sensor, tuple(others), request)
            except Interrupted as thrown:
                broken = thrown
    except StopIteration as end:
        result: _T = end.value
        return result
    finally:
        steps.close()


def progress_of(progress: Progress, sensor: str, others: Collection[str]) -> Progress:
    """Which phases of a run are done on this sensor, by their fixed names."""
    return Progress(phases_of(tuple(progress.done), sensor), progress.voiding) if others else progress


def _of(sensor: str, others: tuple[str, ...], request: Request) -> Request:  # noqa: PLR0911 - one line a kind
    match request:
        case PhaseBegins(name=name, title=title):
            return PhaseBegins(phase_of(name, sensor), f"{title} ({sensor})")
        case PhaseEnds(name=name):
            return PhaseEnds(phase_of(name, sensor))
        case Reread(phase=phase):
            return Reread(phase_of(phase, sensor))
        case Recall():
            return replace(request, not_of=others)
        case Confirm() | Choose() | Enter():
            return replace(request, question=f"{sensor}: {request.question}")
        case Hold() | Release():
            return replace(request, title=f"{sensor}: {request.title}")
        case Establish(finding=TakenOver() as found):
            return Establish(found.of_sensor(sensor), request.briefly)
        case Punch():
            return replace(request, text=f"{sensor}: {request.text}")
    return request
