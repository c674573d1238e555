"""Pauses in a job that a person starts, a filament that is fed or watched, and several sensors side by side."""

import asyncio
from collections.abc import Callable, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Protocol

from commission.asking.moving import MoveDone, MovesEnd, MovesRun, RunMoves
from commission.asking.request import Ask, Watch
from commission.asking.response import TimedReading, WatchTaken
from commission.asking.steps import Steps
from commission.dialect.framing import RawLine
from commission.dialect.jobs import CARD, STOP_CARD_JOB
from commission.dialect.replies import classify
from commission.jobs.function import function_run
from commission.jobs.motion import motion_run
from commission.jobs.soak import SoakPlan, soaked
from commission.procedure.function.plan import FunctionPlan, Mode
from commission.procedure.meeting.identify import identify
from commission.procedure.meeting.paths import which_paths
from commission.procedure.meeting.sensor_met import meet_sensor
from commission.procedure.motion.passes import PULL_KEY
from commission.session import End, Exchange
from commission.vocabulary import Reading
from tests.procedure.borrow_bench import HERE
from tests.procedure.path_hands import PathHands
from tests.procedure.print_bench import PrintBench
from tests.procedure.transcripts.hands_runs import LEFTOVER_MM, USUAL
from tests.procedure.transcripts.recorder import Recorder, Scene
from tests.support.fake_bench import FakeBench
from tests.support.two_sensor_bench import TwoSensorBench

LENGTH_MM = 198.0
WHEEL_MM, SLIPS = 1.5, 3
"""Filament for one change; a worn wheel misses every third."""
SAYS: Mapping[str, Any] = {
    **USUAL,
    "motion.material": "PLA",
    "motion.celsius": "200",
    "motion.sheet": "1.5",
    "motion.marks": f"{LENGTH_MM:g}",
    "motion.marks_again": f"{LENGTH_MM + 0.5:g}",
}
MARKED = {"motion.mark_before": "400", "motion.mark_after": "240"}
SLIPPED = {**MARKED, "motion.mark_after": "90"}


class WheelHands(PathHands):
    """Hands at a unit whose sensor of movement changes as filament goes through it, by motor or by hand, evenly."""

    unit = "motion-sensor"
    missed = 0

    def __init__(self, says: Mapping[str, Any]) -> None:
        super().__init__(self.unit, (), {**SAYS, **says}, LEFTOVER_MM)
        self.host.do("insert")

    def _at_the_board(self, request: Any) -> object:
        match request:
            case Watch() if request.key == PULL_KEY:
                readings = self._turned(LENGTH_MM, request.seconds / 2, request.seconds)
                return WatchTaken(readings, request.seconds, request.seconds / len(readings))
            case RunMoves() if request.most:
                seconds = request.most * request.pattern.block_s
                readings = self._turned(request.most * request.pattern.feed_mm, seconds, request.trip_s)
                moves = tuple(
                    MoveDone(number * request.pattern.block_s, request.pattern.feed_mm, request.pattern.block_s)
                    for number in range(request.most)
                )
                return MovesRun(MovesEnd.NO_TRIP, moves, readings, (), request.trip_s)
        return super()._at_the_board(request)

    def _turned(self, length_mm: float, moved_s: float, seconds: float) -> tuple[TimedReading, ...]:
        """Twenty readings a second, while that length goes through in the first part of the time."""
        readings = []
        for number in range(round(20 * seconds) + 1):
            at_s = number / 20
            changes = int(length_mm * min(1.0, at_s / moved_s) / WHEEL_MM)
            seen = changes - (changes // self.missed if self.missed else 0)
            reading = Reading.INACTIVE if seen % 2 else Reading.ACTIVE
            readings.append(TimedReading(at_s, reading, reading.value))
        return tuple(readings)


class WornHands(WheelHands):
    """The same with a wheel that misses some."""

    missed = SLIPS


class PulseHands(WheelHands):
    """Hands at a unit that counts the pulses by itself."""

    unit = "e-pulses"

    def _on_the_path(self, request: Any) -> bool | str:
        if request.key == PULL_KEY:
            self.host.do("pull", f"{LENGTH_MM:g}", "10", settle_s=LENGTH_MM / 10 + 1)
            self.host.lines()
        return super()._on_the_path(request)


def moved_by(hands: Callable[[Mapping[str, Any]], WheelHands], says: Mapping[str, Any], often: int = 1) -> Scene:
    """The check of a sensor of movement by these hands."""
    return Scene(lambda recorder: hands(says).carry_out(recorder.of(fed())), often)


class Bench(Protocol):
    """What conducts steps from opening the port to letting it go."""

    async def run(self, steps: Steps[Any]) -> Any:
        """Conduct them."""
        ...


def on_bench(bench_in: Callable[[Path], Bench], steps: Callable[[], Steps[Any]], often: int = 0) -> Scene:
    """Steps on a bench of their own, in a folder of their own."""

    def run(recorder: Recorder) -> object:
        with TemporaryDirectory() as folder:
            recorder.hidden = folder
            return asyncio.run(bench_in(Path(folder)).run(recorder.of(steps())))

    return Scene(run, often, ("M115",))


class CardHands(PathHands):
    """Hands at a unit whose card works at a job from the start on, until it is told to stop."""

    def __init__(self) -> None:
        super().__init__("sound", (), USUAL, LEFTOVER_MM)
        self._at_work = True

    def _exchange(self, request: Ask) -> Exchange:
        if request.command == STOP_CARD_JOB:
            self._at_work = False
        if request.command != CARD:
            return super()._exchange(request)
        said = "SD printing byte 512/40960" if self._at_work else "Not SD printing"
        return Exchange(request.command, (classify(RawLine.of(said)),), (), End.ACKNOWLEDGED, 0.0, 0.1)


def by_card() -> Steps[object]:
    """A function test whose moves are a job's on the card of the printer."""
    return (yield from function_run(FunctionPlan(Mode.CARD, leftover_max_mm=22, pauses=2), "R. Okafor", HERE))


def watched() -> Steps[object]:
    """A function test of a printer whose pause is not provoked by this program."""
    return (yield from function_run(FunctionPlan(Mode.DRY), "R. Okafor", HERE))


def fed() -> Steps[object]:
    """The check of a sensor of movement."""
    return (yield from motion_run("R. Okafor", HERE))


def paths() -> Steps[object]:
    """Which of two sensors belongs to which path."""
    met = yield from meet_sensor((yield from identify()), "all", together=())
    return (yield from which_paths(met.several))


def put_in(folder: Path) -> FakeBench:
    """A bench with filament in."""
    bench = FakeBench(folder)
    bench.present = True
    return bench


def swapped(folder: Path) -> TwoSensorBench:
    """Two sensors, each at the other one's filament."""
    bench = TwoSensorBench(folder)
    bench.swapped = True
    return bench


def one_dead(folder: Path) -> TwoSensorBench:
    """Two sensors, the second of which never changes."""
    bench = TwoSensorBench(folder)
    bench.sensors["filament 2"].dead = True
    return bench


def stays_in(folder: Path) -> PrintBench:
    """A print at which nobody takes the filament out."""
    bench = PrintBench(folder, "family-b")
    bench.takes_out = False
    return bench


def printing(unit: str) -> Callable[[Path], PrintBench]:
    """A unit that prints from its card."""
    return lambda folder: PrintBench(folder, unit)


SHORT_SOAK = SoakPlan(HERE, 120.0)
WATCHED = ("family-b", "b-oldest", "b-silent-event", "c-says-only")
PRINT_RUNS: Mapping[str, Scene] = {
    "card job": Scene(lambda recorder: CardHands().carry_out(recorder.of(by_card())), 1),
    "pause watched": on_bench(printing("c-sensor"), watched, 1),
    **{f"pause watched on {unit}": on_bench(printing(unit), watched) for unit in WATCHED},
    "pause watched without a runout": on_bench(stays_in, watched),
    "movement by the motor": moved_by(WheelHands, {"motion.how": "motor"}, 3),
    "movement by the motor, marked": moved_by(WheelHands, {"motion.how": "motor", **MARKED}, 0),
    "movement by the motor of a worn wheel": moved_by(WornHands, {"motion.how": "motor", **MARKED}, 0),
    "movement by hand": moved_by(WheelHands, {"motion.how": "hand"}),
    "movement by hand of a worn wheel": moved_by(WornHands, {"motion.how": "hand"}, 0),
    "movement by the motor of a drive that slips": moved_by(WheelHands, {"motion.how": "motor", **SLIPPED}, 0),
    "movement that is counted": moved_by(PulseHands, {"motion.sheet": "4"}),
    "soak": on_bench(put_in, lambda: soaked(SHORT_SOAK), 1),
    "two paths": on_bench(TwoSensorBench, paths, 1),
    "two paths that are swapped": on_bench(swapped, paths),
    "two paths, one of them dead": on_bench(one_dead, paths),
}
