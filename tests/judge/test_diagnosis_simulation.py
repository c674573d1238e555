"""The diagnosis played on simulated faults: a short run of the script that prints the full table."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.patience import PATIENCE_S

SCRIPT = Path(__file__).resolve().parents[2] / "scripts" / "simulate_diagnosis.py"


@pytest.fixture(scope="module", name="printed")
def _printed() -> str:
    command = [sys.executable, str(SCRIPT), "--runs", "60", "--seed", "7"]
    return subprocess.run(command, capture_output=True, text=True, check=True, timeout=PATIENCE_S).stdout


def figure(printed: str, label: str) -> float:
    """The number printed behind a label."""
    found = re.search(rf"{label}\s+([\d.]+)", printed)
    assert found is not None

    return float(found[1])


def test_the_true_class_comes_out_first_in_95_percent_of_what_the_tables_allow(printed: str) -> None:
    """Over 60 faults of all kinds the true class is alone in front in at least 95 % of the ceiling."""
    assert figure(printed, "share of the ceiling") >= 95
    assert figure(printed, "ceiling of these tables") >= 90


def test_choosing_by_gain_asks_for_fewer_tests_than_a_fixed_order(printed: str) -> None:
    """With the same rule for stopping, the chosen order needs at most two thirds of the fixed one's tests."""
    assert figure(printed, "tests asked on average") <= 2 / 3 * figure(printed, "in a fixed order")


def test_every_run_is_in_the_confusion_table(printed: str) -> None:
    """The rows of the confusion table add up to the runs."""
    assert 60 == sum(int(count) for count in re.findall(r"right +\d+ of +(\d+)", printed))


def test_no_unit_passes_that_does_not_read_steadily_out_unplugged(printed: str) -> None:
    """Some units pass a full loop check, and none of them had a single other reading while it was unplugged."""
    assert figure(printed, "passes of a loop check") > 0
    assert 0 == figure(printed, "not steadily out")
