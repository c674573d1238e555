"""The pace played on floating inputs and simulated hands: a short run of the script that prints the tables."""

import json
import subprocess
import sys
from pathlib import Path

from tests.support.patience import PATIENCE_S

SCRIPT = Path(__file__).resolve().parents[2] / "scripts" / "simulate_pace.py"


def test_the_pace_names_no_wrong_polarity_and_saves_time() -> None:
    """By a second writing of the rule, which the script holds against the tool's own; exit code 0 keeps the limit."""
    command = [sys.executable, str(SCRIPT), "--runs", "100", "--hands", "3", "--only", "dwell 2 s", "--json"]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=PATIENCE_S)
    rows = [json.loads(line) for line in done.stdout.splitlines()]
    minutes = {row["plan"]: row["minutes"] for row in rows if row.get("person") == "slips 0 %, keeps up"}

    assert all(row["direct"] + row["inverted"] <= 0.005 for row in rows if "direct" in row)
    assert minutes["own pace, dwell 2 s"] < minutes["fixed 5 s, dwell 2 s"] - 1


def test_the_plan_as_it_comes_takes_four_and_a_half_minutes() -> None:
    """Twenty-two cycles of a person who keeps up and never slips, leave-it prompts included."""
    command = [sys.executable, str(SCRIPT), "--runs", "0", "--hands", "8", "--only", "own pace, dwell 1.2", "--json"]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=PATIENCE_S)
    rows = [json.loads(line) for line in done.stdout.splitlines()]
    (minutes,) = [row["minutes"] for row in rows if row["person"] == "slips 0 %, keeps up"]

    assert minutes <= 4.5
