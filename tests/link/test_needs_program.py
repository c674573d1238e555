"""Programs that a test needs: skipped when missing, failed when the suite is to be complete."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.patience import PATIENCE_S
from tests.support.programs import needs_program

ROOT = Path(__file__).resolve().parents[2]
PROBE = (
    "from tests.support.programs import needs_program\n\ndef test_it():\n    needs_program('no-such-program-at-all')\n"
)


def test_present_program_is_found() -> None:
    """A program that is there is returned with its path."""
    assert Path(needs_program("sh")).is_file()


@pytest.mark.parametrize(("required", "outcome"), [("", "1 skipped"), ("1", "1 failed")])
def test_missing_program(tmp_path: Path, required: str, outcome: str) -> None:
    """A missing program skips the test with its reason, or fails it where REQUIRE_TOOLS=1 is set."""
    (tmp_path / "test_probe.py").write_text(PROBE)
    command = [sys.executable, "-m", "pytest", "-q", "-rsf", "-p", "no:cacheprovider", str(tmp_path)]
    surroundings = {**os.environ, "REQUIRE_TOOLS": required, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        command, cwd=tmp_path, env=surroundings, capture_output=True, text=True, check=False, timeout=PATIENCE_S
    )

    assert outcome in done.stdout
    assert "no-such-program-at-all is not installed" in done.stdout
