"""The rules played on simulated switches: a short run of the script that prints the full table."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.patience import PATIENCE_S

SCRIPT = Path(__file__).resolve().parents[2] / "scripts" / "simulate_polarity.py"
RUNS = 500

Row = dict[str, float]


@pytest.fixture(scope="module")
def rows() -> dict[str, Row]:
    """The table of 500 runs per switch, by name."""
    command = [sys.executable, str(SCRIPT), "--runs", str(RUNS), "--json"]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=PATIENCE_S)
    return {row["case"]: row for row in json.loads(done.stdout)}


def test_no_switch_gets_the_wrong_polarity(rows: dict[str, Row]) -> None:
    """In every case at most 0.5 % of the runs name a wrong polarity."""
    assert 16 == len(rows)
    assert all(row["wrong_polarity"] <= 0.005 for row in rows.values())


def test_no_stuck_or_floating_switch_passes(rows: dict[str, Row]) -> None:
    """Stuck and floating inputs never pass, not even conditionally."""
    bad = [row for name, row in rows.items() if name.startswith(("stuck", "floating"))]

    assert 10 == len(bad)
    assert all(0 == row["passes"] == row["conditional"] for row in bad)


def test_a_sound_switch_always_passes(rows: dict[str, Row]) -> None:
    """A switch that never errs is found direct and passes in every run."""
    sound = rows["misreads 0% of trials"]

    assert (1, 1) == (sound["right"], sound["passes"])


def test_passes_fall_with_the_misreads(rows: dict[str, Row]) -> None:
    """A switch that misreads 2 % of its trials passes with probability 0.98^44, within four standard deviations."""
    expected = 0.98**44

    assert expected == pytest.approx(rows["misreads 2% of trials"]["passes"], abs=4 * (0.25 / RUNS) ** 0.5)
    assert rows["misreads 20% of trials"]["passes"] <= 0.01
