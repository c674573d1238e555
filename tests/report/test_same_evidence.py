"""What was judged at the bench, what is held against later checks and what the paper says are one and the same.

The real procedures judge on benches in memory while they run; afterwards report and history are drawn from the book
alone. Whatever went wrong on the way, all three count the same trials and the same power-ups.
"""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from commission.desk.base import Mark
from commission.evidence.findings.loop import Acceptance, FailSafeFound, Polarity
from commission.records.checks import check_records
from commission.records.history import newest_finding
from commission.report.document import Table
from commission.report.predicted import predicted_section
from commission.report.record import read_run
from commission.report.write import draw
from commission.vocabulary import Outcome
from tests.conductor.test_unknown_answers import SENSORS, UnknowingBench
from tests.support.fake_bench import RUN

Bench = UnknowingBench
Deed = Callable[[Bench], None]


def declared(folder: Path) -> Bench:
    """A bench whose operator declares the wiring of a lever switch."""
    return UnknowingBench(folder, SENSORS[0])


def nothing(_bench: Bench) -> None:
    """Nothing goes wrong."""


def wrong_plug_first(bench: Bench) -> None:
    """In the first power-up another plug is pulled; the second time it is the right one."""
    pulled: list[str] = []

    def pulls(key: str) -> bool:
        pulled.append(key)
        return key != "unplug.1" or pulled.count(key) > 1

    bench.pulls = pulls


def one_voided(bench: Bench) -> None:
    """The third insertion is declared spoilt."""
    usual, asked = bench.answers, [0]

    def answers(key: str) -> bool | str | None:
        if key == "trial.insert":
            asked[0] += 1
            bench.desk.marks = [Mark.SPOILT] if asked[0] == 3 else []
        return "dropped it" if key == "trial.void_reason" else usual(key)

    bench.answers = answers


def some_unread(bench: Bench) -> None:
    """The answers to one trial bring no reading."""
    bench.surprise = lambda queries: b"Reporting endstop status\nx_min: open\nok\n" if 60 <= queries < 70 else None


async def broken_off_in_it(bench: Bench) -> None:
    """The loop check is stopped with a switch that does not follow, and done again whole with one that does."""
    bench.follows = False
    await bench.install(stop_at="wiggle.ready")
    bench.follows = True


@pytest.mark.parametrize(
    "goes_wrong", [nothing, wrong_plug_first, one_voided, some_unread], ids=lambda deed: deed.__name__
)
async def test_report_and_history_count_what_was_judged(tmp_path: Path, goes_wrong: Deed) -> None:
    """Trials, voided and unread ones, and power-ups: as many on paper and in the history as in the verdict."""
    bench = declared(tmp_path)
    goes_wrong(bench)

    assert Outcome.COMPLETE is (await bench.install()).outcome
    assert_the_same(bench)


async def test_a_phase_done_again_is_counted_once(tmp_path: Path) -> None:
    """What was read before it was broken off is on record, and counts neither on paper nor in the history."""
    bench = declared(tmp_path)
    await broken_off_in_it(bench)

    assert Outcome.COMPLETE is (await bench.install()).outcome
    assert_the_same(bench)


def assert_the_same(bench: Bench) -> None:
    """The verdict's own counts, those of the JSON and the table of the report, and those of the history."""
    polarity = newest_finding(bench.book, Polarity, [RUN])
    fail_safe = newest_finding(bench.book, FailSafeFound, [RUN])
    assert polarity is not None
    assert fail_safe is not None
    report = json.loads(draw(read_run(bench.book, RUN), "json"))
    (record,) = check_records(bench.book, "bench-3")

    filament_in, filament_out = judged(bench, "reads in with filament in"), judged(bench, "reads out with filament out")
    assert filament_in + filament_out == counted(report, "counts", moved=True)
    assert (filament_in, filament_out) == (record.measured.in_trials, record.measured.out_trials)
    assert (polarity.voided, polarity.lost) == (counted(report, "voided"), counted(report, "unread"))
    said = [f"in in {filament_in} of {filament_in}", f"out in {filament_out} of {filament_out}"]
    assert said == measured(bench)[:2]
    assert f"out in {fail_safe.power_ups} of {fail_safe.power_ups}" == measured(bench)[2]


def judged(bench: Bench, criterion: str) -> int:
    """How many trials of a kind the verdict was reached by."""
    acceptance = newest_finding(bench.book, Acceptance, [RUN])
    assert acceptance is not None
    observed = next(each.observed for each in acceptance.criteria if each.name == criterion)
    found = re.search(r"0 of (\d+)", observed)
    assert found is not None
    return int(found[1])


def counted(report: dict[str, Any], what: str, *, moved: bool = False) -> int:
    """How many trials count, or do not for that reason; of those in which the filament was moved, or of all."""
    trials = [each for each in report["trials"] if not moved or each["instruction"] != "leave it"]
    return sum(each["counts"] if what == "counts" else each["why_not"] == what for each in trials)


def measured(bench: Bench) -> list[str]:
    """What the report says was measured, beside what the wiring predicts."""
    tables = [block for block in predicted_section(read_run(bench.book, RUN)).blocks if isinstance(block, Table)]
    return [row[2] for table in tables for row in table.rows]
