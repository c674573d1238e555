"""The pace played on floating inputs and simulated hands: a short run of the script that prints the tables."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

from tests.support.patience import PATIENCE_S

KEEPS_UP = "slips 0 %, keeps up"
SCRIPT = Path(__file__).resolve().parents[2] / "scripts" / "simulate_pace.py"


def played(*options: str) -> list[dict[str, Any]]:
    """The rows of the script, with the one person who is judged here."""
    command = [sys.executable, str(SCRIPT), *options, "--who", KEEPS_UP, "--json"]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=PATIENCE_S)
    return [json.loads(line) for line in done.stdout.splitlines()]


def test_the_pace_names_no_wrong_polarity_and_saves_time() -> None:
    """By a second writing of the rule, which the script holds against the tool's own; exit code 0 keeps the limit."""
    rows = played("--runs", "100", "--hands", "3", "--only", "dwell 2 s")
    minutes = {row["plan"]: row["minutes"] for row in rows if row.get("person") == KEEPS_UP}

    assert all(row["direct"] + row["inverted"] <= 0.005 for row in rows if "direct" in row)
    assert minutes["own pace, dwell 2 s"] < minutes["fixed 5 s, dwell 2 s"] - 1


def test_the_plan_as_it_comes_takes_four_and_a_half_minutes() -> None:
    """Twenty-two cycles of a person who keeps up and never slips, leave-it prompts included."""
    rows = played("--runs", "0", "--hands", "8", "--only", "own pace, dwell 1.2")
    (minutes,) = [row["minutes"] for row in rows if row["person"] == KEEPS_UP]

    assert minutes <= 4.5
