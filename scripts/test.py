"""Run everything that must hold: lint, types and the whole test suite, in the project's own environment.

Usage: python3 scripts/test.py [pytest options]

The tests of whole commands run in real time and mostly wait, so they run beside the others; with options there is one
pytest for all.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile

from _environment import ROOT, ready

REAL_TIME = "tests/cli"

CHECKS = (
    ("lint", ["-m", "ruff", "check", "."]),
    ("format", ["-m", "ruff", "format", "--check", "."]),
    ("types", ["-m", "mypy", "commission", "fake_printer", "tests"]),
    ("types of the scripts", ["-m", "mypy", "scripts"]),
)


def main(pytest_options: list[str]) -> int:
    """Run each check in turn and all of them, then say which failed."""
    python = str(ready(extra="dev"))
    failed = []
    for name, command in CHECKS:
        print(f"== {name}", flush=True)
        if subprocess.run([python, *command], cwd=ROOT, check=False).returncode:
            failed.append(name)
    print("== tests", flush=True)
    if pytest_options:
        passed = not subprocess.run([python, "-m", "pytest", *pytest_options], cwd=ROOT, check=False).returncode
    else:
        passed = both_halves(python)
    failed += [] if passed else ["tests"]
    print("All checks hold." if not failed else "Failed: " + ", ".join(failed), flush=True)
    return 1 if failed else 0


def both_halves(python: str) -> bool:
    """Run the tests of whole commands beside all others; whether every one passed."""
    with tempfile.TemporaryFile("w+") as aside:
        whole = subprocess.Popen([python, "-m", "pytest", REAL_TIME], cwd=ROOT, stdout=aside, stderr=subprocess.STDOUT)
        try:
            rest = subprocess.run([python, "-m", "pytest", f"--ignore={REAL_TIME}"], cwd=ROOT, check=False).returncode
            print(f"== tests in real time ({REAL_TIME})", flush=True)
            code = whole.wait()
        finally:
            whole.kill()
        aside.seek(0)
        print(aside.read(), flush=True)
    return not (code or rest)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
