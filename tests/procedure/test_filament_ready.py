"""Before a runout is provoked the filament is looked for and free; what held it is asked afterwards."""

from pathlib import Path

import pytest

from commission.evidence.findings.function import Pause
from commission.jobs.function import function_run
from commission.procedure.function.filament_ready import FREE, HELD, LET_GO, PULL_FURTHER, free_to_pull
from commission.procedure.function.plan import FunctionPlan, Mode
from fake_printer.printer import Printer
from fake_printer.profile import load_profile
from tests.support.device_bench import DeviceBench
from tests.support.installed import UNKNOWN


def bench_of(folder: Path, *, gear_free: bool = True) -> DeviceBench:
    """A sound printer; its drive gear is free or holds."""
    bench = DeviceBench(Printer(load_profile("sound")), folder)
    if gear_free:
        bench.printer.perform("free-gear")
    return bench


async def one_pause(bench: DeviceBench) -> list[str]:
    """One pause in a dry test, nothing beside it; the keys of what was asked."""
    await bench.run(function_run(FunctionPlan(leftover_max_mm=22, pauses=1), "R. Okafor", UNKNOWN.surroundings))
    return bench.desk.asked


async def test_a_yes_against_the_reading_is_asked_again(tmp_path: Path) -> None:
    """Whoever says that filament is in while the switch reads out is asked once more, before anything moves."""
    bench = bench_of(tmp_path)
    bench.printer.perform("withdraw")
    empty = iter([True])

    def without_filament(key: str) -> bool | None:
        if key == "pause.ready" and next(empty, False):
            bench.clock.pass_time(1.0)
            return True  # and nothing is pushed in
        return False if key == "pause.surely_in" or key.endswith(".now") else None

    bench.answers = without_filament

    asked = await one_pause(bench)

    assert ["pause.ready", "pause.surely_in", "pause.ready", "pause.pull"] == [
        key for key in asked if key.startswith("pause.")
    ]
    assert "pass" == bench.desk.findings.of(Pause)[0].verdict.value


async def test_a_switch_that_misreads_can_still_be_tested(tmp_path: Path) -> None:
    """A second yes is taken: with inverted logic filament that is in reads out, and that is what the pause shows."""
    bench = DeviceBench(Printer(load_profile("inverted-right-contact")), tmp_path)
    bench.printer.perform("free-gear")
    bench.answers = lambda key: False if key.endswith(".now") else None

    asked = await one_pause(bench)

    assert ["pause.ready", "pause.surely_in", "pause.pull"] == [key for key in asked if key.startswith("pause.")][:3]


@pytest.mark.parametrize(
    ("held", "reason", "told"), [(True, HELD, LET_GO), (False, FREE, PULL_FURTHER)], ids=["held", "free"]
)
async def test_a_miss_is_recorded_with_its_cause(tmp_path: Path, *, held: bool, reason: str, told: str) -> None:
    """Filament that does not come out has a cause: the gear held it, or it was not pulled far enough."""
    bench = bench_of(tmp_path, gear_free=False)
    bench.answers = lambda key: held if key == "pause.gear_held" else False if key.endswith(".now") else None
    bench.pull_after_s = 1e6

    await one_pause(bench)

    assert 3 * [(reason,)] == [pause.sentences[:1] for pause in bench.desk.findings.of(Pause)]
    assert 3 == bench.desk.told.count(told)


@pytest.mark.parametrize(
    ("plan", "said"),
    [
        (FunctionPlan(), ["open the drive, or push the filament in only until the switch reads in."]),
        (FunctionPlan(trip_to_gear_mm=40), ["push the filament in less than 40.0 mm past the trip point."]),
        (FunctionPlan(Mode.WARM, material="PLA"), []),
    ],
)
def test_a_cold_test_says_how_the_filament_stays_free(plan: FunctionPlan, said: list[str]) -> None:
    """How far it may be pushed is named where the way to the gear is known; a warm test draws it through."""
    lines = free_to_pull(plan)

    assert len(said) == len(lines)
    assert all(part in line for part, line in zip(said, lines, strict=True))
