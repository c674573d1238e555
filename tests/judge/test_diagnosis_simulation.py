"""The diagnosis played on simulated units with raw readings: a short run of the script that prints the full figures."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.patience import PATIENCE_S

SCRIPT = Path(__file__).resolve().parents[2] / "scripts" / "simulate_diagnosis.py"
RUNS = 20


@pytest.fixture(scope="module", name="printed")
def _printed() -> str:
    command = [sys.executable, str(SCRIPT), "--runs", str(RUNS), "--seed", "3"]
    return subprocess.run(command, capture_output=True, text=True, check=True, timeout=PATIENCE_S).stdout


def figure(printed: str, title: str, label: str) -> float:
    """The number printed behind a label under a title."""
    found = re.search(rf"^{title}: \d+ runs\n(?:  .*\n)*?  {label}\s+([\d.]+)", printed, re.MULTILINE)
    assert found is not None, printed

    return float(found[1])


def test_the_true_class_comes_out_first(printed: str) -> None:
    """Of twenty faults that showed, alike and with priors five times off, the true class is in front in 80 % at least.

    The figure of a thousand is above 95 %; so few may miss it by chance.
    """
    for title in ("faults, all alike", "faults, the stated priors five times off"):
        assert figure(printed, title, "true class first") >= 80


def test_a_wrong_class_is_hardly_ever_named_with_confidence(printed: str) -> None:
    """Of twenty at most one is called something else above 90 %; of a thousand, less than 2 %."""
    for title in ("faults, all alike", "faults, the stated priors five times off"):
        assert figure(printed, title, "another one above 90 %") <= 100 * 1 / RUNS


def test_a_slip_of_the_hand_is_never_a_fault(printed: str) -> None:
    """A sound unit with one slip is called faulty above 90 % in no run."""
    assert 0 == figure(printed, "slips", "a fault above 90 %")


def test_a_wrong_declaration_is_named_first(printed: str) -> None:
    """Contact, pull or absent level declared wrong, and nothing else: that it is not as declared is in front."""
    assert 100 == figure(printed, "declarations", "true class first")


def test_a_lever_that_sticks_is_not_called_sound(printed: str) -> None:
    """Sticking in 10 to 30 % of all withdrawals, no lever is called sound above 90 %."""
    assert 0 == figure(printed, "sticking", "called sound above 90 %")


def test_every_run_is_in_the_confusion_table(printed: str) -> None:
    """The rows of the two confusion tables add up to the runs."""
    assert 2 * RUNS == sum(int(count) for count in re.findall(r"right +\d+ of +(\d+)", printed))


def test_no_unit_passes_that_does_not_read_steadily_out_unplugged(printed: str) -> None:
    """Some pass a full loop check, and none of them had a single other reading while it was unplugged."""
    assert 0 < figure(printed, "faults, all alike", "passes of a loop check")
    assert 0 == figure(printed, "faults, all alike", "  not steadily out")
