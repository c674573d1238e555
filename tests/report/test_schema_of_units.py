"""The JSON of runs on simulated units keeps to the published schema, whatever the unit does."""

import asyncio
import json
from pathlib import Path

import jsonschema
import pytest

import commission.report
from commission.procedure.function_plan import FunctionPlan, Mode
from commission.procedure.function_walk import function_walk
from commission.report.record import read_run
from commission.report.write import draw
from fake_printer.printer import Printer
from fake_printer.profile import load_profile
from tests.support.device_bench import RUN, DeviceBench

SCHEMA = json.loads((Path(commission.report.__file__).parent / "report.schema.json").read_text(encoding="utf-8"))
UNITS = ("sound", "not-compiled-in", "watching-off", "latch-stays", "starts-empty", "double-change")


@pytest.mark.parametrize("unit", UNITS)
def test_the_report_of_a_unit_is_valid(unit: str, tmp_path: Path) -> None:
    """A function test of the unit, made in memory, gives JSON valid under the schema, formats included."""
    bench = DeviceBench(Printer(load_profile(unit)), tmp_path)
    bench.printer.perform("free-gear")
    bench.book.append(RUN, "run_started", {"number": RUN, "tag": "bench-3", "purpose": "function"})
    plan = FunctionPlan(mode=Mode.DRY, leftover_max_mm=22)

    asyncio.run(bench.run(function_walk(plan, "R. Okafor")))

    report = json.loads(draw(read_run(bench.book, RUN), "json"))
    validator = jsonschema.Draft202012Validator(SCHEMA, format_checker=jsonschema.FormatChecker())
    assert [] == [error.message for error in validator.iter_errors(report)]
    assert report["findings"]
    assert [] == report["evidence"]["unread"]
