"""Borrowing, meeting, movement and the function test on simulated printers behind the real conductor."""

import asyncio
from collections.abc import Callable, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from commission.asking.steps import Steps
from commission.jobs.function import function_run
from commission.jobs.motion import motion_run
from commission.procedure.function.plan import FunctionPlan, Mode
from commission.procedure.meeting.as_found import as_found
from commission.procedure.meeting.identify import identify
from fake_printer.printer import Printer
from fake_printer.profile import load_profile
from tests.procedure.borrow_bench import HERE
from tests.procedure.transcripts.recorder import OFTEN, Recorder, Scene
from tests.support.device_bench import DeviceBench

MakeBench = Callable[[Path], DeviceBench]


def at_device(
    bench_in: MakeBench, steps: Callable[[], Steps[Any]], often: int = OFTEN, passed_over: tuple[str, ...] = ()
) -> Scene:
    """Steps on a bench of their own, in a folder of their own."""

    def run(recorder: Recorder) -> object:
        with TemporaryDirectory() as folder:
            recorder.hidden = folder
            return asyncio.run(bench_in(Path(folder)).run(recorder.of(steps())))

    return Scene(run, often, passed_over)


def unit(name: str, *, gear_free: bool = False, answers: Mapping[str, Any] | None = None) -> MakeBench:
    """A bench with this unit; in a cold test its drive gear is free."""

    def bench_in(folder: Path) -> DeviceBench:
        bench = DeviceBench(Printer(load_profile(name)), folder)
        bench.answers = (answers or {}).get
        if gear_free:
            bench.printer.perform("free-gear")
        return bench

    return bench_in


class WheelBench(DeviceBench):
    """A sensor of movement, whose filament is pulled evenly, 198 mm at 10 mm a second."""

    def __init__(self, folder: Path) -> None:
        super().__init__(Printer(load_profile("motion-sensor")), folder)
        self.answers = self._pull

    def _pull(self, key: str) -> str | None:
        if key.startswith("motion.marks"):
            self.printer.perform("insert")
            return "198"
        if key == "motion.pull":
            self.clock.later(1.0, lambda: self.printer.perform("pull", "198", "10"))
        return "3" if key == "motion.sheet" else None


def met() -> Steps[object]:
    """Who it is and what it has."""
    identity = yield from identify()
    return (yield from as_found(identity))


def tested() -> Steps[object]:
    """A cold function test with one pause."""
    plan = FunctionPlan(mode=Mode.DRY, leftover_max_mm=22, pauses=1)
    return (yield from function_run(plan, "R. Okafor", HERE))


def moved() -> Steps[object]:
    """The check of a sensor of movement."""
    return (yield from motion_run("R. Okafor", HERE))


NAMED = {"source.name": "spool_left"}
CONDUCTED = ("M115",)
"""Who it is, the conductor has heard before: it holds to that, whatever is answered otherwise."""
MET = (
    "sound",
    "two-sensors",
    "mode-form",
    "b-newest",
    "b-oldest",
    "b-two-monitors",
    "b-spare-input",
    "c-sensor",
    "c-two-sensors",
    "c-oldest",
    "d-sensor",
    "e-switch",
    "motion-sensor",
    "not-compiled-in",
)
TESTED = (
    "display-only",
    "latch-stays",
    "double-change",
    "starts-empty",
    "second-trip-silent",
    "host-alone",
    "off-after-power-up",
)
DEVICE_RUNS: Mapping[str, Scene] = {
    **{f"met {name}": at_device(unit(name, answers=NAMED), met, 1, CONDUCTED) for name in MET},
    "function test at the device": at_device(unit("sound", gear_free=True), tested, 0),
    **{f"function test of {name}": at_device(unit(name, gear_free=True), tested, 0) for name in TESTED},
    "movement": at_device(WheelBench, moved, 0),
}
