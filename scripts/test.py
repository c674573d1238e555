"""Run everything that must hold: lint, types and the whole test suite, in the project's own environment.

Usage: python3 scripts/test.py [pytest options]

The tests run side by side, in two processes more than there are processors; `-n 0` runs them one after the other, in
one process that a debugger can enter.
Without further options two more rounds follow when the others are done: tests marked `alone`, which take the machine
for themselves, and tests marked `swept`, which say one sentence of many cases (units, moments, answers, seeds). These
take a part of their cases in the first round and all of them in the last one. See `tests/support/sweeps.py`.
"""

from __future__ import annotations

import os
import subprocess
import sys

from _environment import FOLDER, ROOT, ready

CHECKS = (
    ("lint", ["-m", "ruff", "check", "."]),
    ("format", ["-m", "ruff", "format", "--check", "."]),
    ("types", ["-m", "mypy", "commission", "fake_printer", "tests"]),
    ("types on Windows", ["-m", "mypy", "--platform", "win32", "commission"]),
    ("types on macOS", ["-m", "mypy", "--platform", "darwin", "commission"]),
    ("types of the scripts", ["-m", "mypy", "scripts"]),
)
WORKERS = (os.cpu_count() or 1) + 2
"""Two more than there are cores: some tests wait in real time, for limits that the tool keeps on a real port."""
TESTS = ["-m", "pytest", "-n", str(WORKERS), "--dist", "worksteal"]
IN_FULL = "tests in full"
ALL = (
    ("tests", [*TESTS, "-m", "not alone"]),
    ("tests alone", ["-m", "pytest", "-m", "alone"]),
    (IN_FULL, [*TESTS, "-m", "swept and not alone"]),
)


def main(pytest_options: list[str]) -> int:
    """Run each check in turn and all of them, then say which failed."""
    python = str(ready(extra="dev"))
    failed = []
    tests = (("tests", [*TESTS, *pytest_options]),) if pytest_options else ALL
    for name, command in (*CHECKS, *tests):
        print(f"== {name}", flush=True)
        around = surroundings() | ({"WHOLE_SWEEPS": "1"} if name == IN_FULL else {})
        if subprocess.run([python, *command], cwd=ROOT, env=around, check=False).returncode:
            failed.append(name)
    print("All checks hold." if not failed else "Failed: " + ", ".join(failed), flush=True)
    return 1 if failed else 0


def surroundings() -> dict[str, str]:
    """The environment of the checks: byte code is kept beside the packages, not in the tree.

    Some hundred processes are started by the tests, each of which would otherwise compile what it loads, where somebody
    has told Python to write none.
    """
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return {"PYTHONPYCACHEPREFIX": str(FOLDER / "bytecode"), **kept}


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
