"""Two sensors in one `install`, end to end: a real process, a simulated printer, a script for hands."""

from pathlib import Path

import pytest

from commission.evidence.findings.several import PathsSeen, SensorsJudged
from commission.vocabulary import Verdict
from tests.cli.test_install import checked
from tests.support.sweeps import a_part

HANDS = Path(__file__).with_name("two_sensors.toml").read_text(encoding="utf-8")


UNITS = [
    ("two-sensors", 4, Verdict.CONDITIONAL, Verdict.CONDITIONAL, Verdict.PASS),
    ("two-crossed", 1, Verdict.FAIL, Verdict.FAIL, Verdict.FAIL),
    ("two-second-opens", 1, Verdict.CONDITIONAL, Verdict.FAIL, Verdict.PASS),
]


@pytest.mark.swept
@pytest.mark.parametrize(
    ("unit", "code", "first", "second", "paths"),
    a_part(UNITS, one_in=3),
)
def test_each_unit_gets_its_verdicts(
    tmp_path: Path, unit: str, code: int, first: Verdict, second: Verdict, paths: Verdict
) -> None:
    """Each sensor by itself, the run by the worst of them, on the screen and in every report."""
    done = checked(unit, tmp_path, hands=HANDS)

    assert code == done.code, done.screen
    judged = done.finding(SensorsJudged)
    assert {"filament": first, "filament 2": second} == {each.sensor: each.verdict for each in judged.sensors}
    assert paths is done.finding(PathsSeen).verdict
    assert f"filament 2 (drive 1): {second.value}." in done.screen
    report = done.report()
    assert "| filament 2 | drive 1 | direct |" in report or unit == "two-crossed", report
    assert "## filament 2: trials and readings" in report
