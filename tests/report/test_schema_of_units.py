"""The JSON of runs on simulated units keeps to the published schema, whatever the unit does."""

import asyncio
import json
from pathlib import Path
from typing import Any

import jsonschema_rs
import pytest

import commission.report
from commission.conductor.ended import Ended
from commission.evidence.runs import RunEnded
from commission.jobs.function import function_run
from commission.jobs.install import JobResult
from commission.judge.plan import Plan
from commission.procedure.function.plan import FunctionPlan, Mode
from commission.report.record import read_run
from commission.report.write import draw
from commission.vocabulary import Outcome, Verdict
from fake_printer.printer import Printer
from fake_printer.profile import load_profile, profile_names
from tests.support.device_bench import RUN, DeviceBench
from tests.support.installed import UNKNOWN, installation
from tests.support.made import begun
from tests.support.sweeps import a_part

SCHEMA = json.loads((Path(commission.report.__file__).parent / "report.schema.json").read_text(encoding="utf-8"))
VALIDATOR = jsonschema_rs.Draft202012Validator(SCHEMA, validate_formats=True)
"""Another validator than that of the whole reports, and a hundred times as fast: two agree on what the schema says."""
MOVED = ("sound", "not-compiled-in", "watching-off", "latch-stays", "starts-empty", "double-change")
PLAN = Plan(seed=20, cycles=6, countdown_s=0.5, dwell_s=0.4, wiggle_s=2, wiggle_readings=20)
SLOWEST_BAUD = 4_800
"""Of each watch a third as many readings stand in the report as at the usual slow speed; its form is the same."""
TAKEN = ("backup.now", "reflash.stays", "watching.stays")
"""Of what is offered, what is done; the rest is left out."""
BROKEN_OFF = {
    "supply-short": "its board restarts whenever filament goes in: the run is broken off as a wiring fault",
    "c-busy": "not one byte comes from its host computer, and nobody is there to wait for it",
    "c-not-ready": "its host computer says that it is not ready",
    "c-shutdown": "its host computer has shut down",
}
"""Units on which an installation does not come to its end, and why."""
VERDICTS = {
    "sound": "conditional pass",
    "two-errors-cancel": "fail",
    "not-compiled-in": "fail",
    "family-b": "conditional pass",
    "b-empty-lines": "conditional pass",
    "b-oldest": "conditional pass",
    "b-monitor-off": "fail",
    "b-laser": "not judged",
    "family-c": "fail",
    "c-sensor": "conditional pass",
    "c-begins": "conditional pass",
    "c-dictionary": "conditional pass",
    "d-sensor": "not judged",
    "e-pulses": "not judged",
}
"""What some of them must come to, so that the hands are known to do their work."""
HANDS: dict[str, tuple[tuple[str, ...], ...]] = {
    "trial.insert": (("insert",),),
    "trial.withdraw": (("withdraw",),),
    "wiggle.ready": (("insert",),),
    "unplug.1": (("unplug", "board"), ("power-cycle", "1")),
    "unplug.2": (("power-cycle", "1"),),
    "unplug.reconnect": (("plug",), ("insert",), ("power-cycle", "1")),
    "still_plugged.insert": (("insert",),),
    "still_plugged.withdraw": (("withdraw",),),
}


class InstallBench(DeviceBench):
    """The bench in memory with the hands of an installation; the port goes where the power does."""

    def __init__(self, printer: Printer, folder: Path) -> None:
        super().__init__(printer, folder)
        self.speed_baud = SLOWEST_BAUD
        self.desk.at_hold = lambda request: self.links[-1].lose() if request.power else None

    def _operator(self, key: str) -> bool | str | None:
        for verb, *words in HANDS.get(key, ()):
            self.printer.perform(verb, *words)
            self.clock.pass_time(0.2)
        if key == "source.name":
            return "spool_left"
        if key.endswith((".now", ".stays")):
            return key in TAKEN
        return super()._operator(key)


def ended(bench: DeviceBench, came_to: "Ended[JobResult]") -> dict[str, Any]:
    """Write the end of the run as the command does, and draw its JSON."""
    verdict = Verdict.NOT_JUDGED if came_to.result is None else came_to.result.verdict
    why = "" if came_to.interruption is None else came_to.interruption.detail
    left = came_to.made_safe.on_record()
    bench.book.append(RUN, RunEnded(outcome=came_to.outcome, verdict=verdict, why=why, way_out=left))
    report: dict[str, Any] = json.loads(draw(read_run(bench.book, RUN), "json"))
    return report


@pytest.mark.swept
@pytest.mark.parametrize("unit", a_part(profile_names(), one_in=10, always=tuple(BROKEN_OFF)))
def test_the_report_of_an_installation_is_valid_for_every_unit(unit: str, tmp_path: Path) -> None:
    """Installed in memory, each unit gives JSON valid under the schema, formats included; a broken-off run does too."""
    bench = InstallBench(Printer(load_profile(unit)), tmp_path)
    bench.printer.perform("free-gear")
    bench.book.append(RUN, begun(RUN, "install", plan=PLAN, plan_sentences=tuple(PLAN.describe())))

    came_to = asyncio.run(bench.run(installation(PLAN)))
    report = ended(bench, came_to)

    assert [] == [error.message for error in VALIDATOR.iter_errors(report)]
    assert (unit in BROKEN_OFF) is (came_to.outcome is not Outcome.COMPLETE), report["why"]
    assert VERDICTS.get(unit, report["verdict"]) == report["verdict"]
    assert [] == report["evidence"]["unread"]
    assert bool(report["findings"]) is (came_to.outcome is not Outcome.NOT_CONNECTED)


@pytest.mark.parametrize("unit", MOVED)
def test_the_report_of_a_function_test_is_valid(unit: str, tmp_path: Path) -> None:
    """A function test of the unit, made in memory, gives JSON valid under the schema, formats included."""
    bench = DeviceBench(Printer(load_profile(unit)), tmp_path)
    bench.printer.perform("free-gear")
    bench.book.append(RUN, begun(RUN, "function"))
    plan = FunctionPlan(mode=Mode.DRY, leftover_max_mm=22)

    report = ended(bench, asyncio.run(bench.run(function_run(plan, "R. Okafor", UNKNOWN.surroundings))))

    assert [] == [error.message for error in VALIDATOR.iter_errors(report)]
    assert report["findings"]
    assert [] == report["evidence"]["unread"]
