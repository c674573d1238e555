"""Run everything that must hold: lint, types and the whole test suite, in the project's own environment.

Usage: python3 scripts/test.py [pytest options]
"""

from __future__ import annotations

import subprocess
import sys

from _environment import ROOT, ready

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
    for name, command in (*CHECKS, ("tests", ["-m", "pytest", *pytest_options])):
        print(f"== {name}", flush=True)
        if subprocess.run([python, *command], cwd=ROOT, check=False).returncode:
            failed.append(name)
    print("All checks hold." if not failed else "Failed: " + ", ".join(failed), flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
