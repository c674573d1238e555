"""Makes the project's own environment (.venv) from pyproject.toml; standard library only."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / ".venv"
STAMP = FOLDER / "made-from.sha256"


def python() -> Path:
    """The interpreter inside the environment."""
    return FOLDER / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def ready(*, extra: str = "") -> Path:
    """Make or refresh the environment and return its interpreter.

    The environment is made again only when pyproject.toml, the extra or the Python version has changed.

    Args:
        extra: name of the optional dependency group to install as well, or empty for none.
    """
    if sys.version_info < (3, 11):  # noqa: UP036 - whoever starts this with an older Python is told so
        sys.exit("This project needs Python 3.11 or newer; you started it with " + sys.version.split()[0])
    wanted = hashlib.sha256((ROOT / "pyproject.toml").read_bytes() + sys.version.encode()).hexdigest()
    have = set(STAMP.read_text().split()) if STAMP.exists() else set()
    if {wanted, extra or "plain"} <= have:
        return python()
    _make()
    target = str(ROOT) + (f"[{extra}]" if extra else "")
    _run([str(python()), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--editable", target])
    kept = have if wanted in have else set()
    STAMP.write_text("\n".join(sorted(kept | {wanted, extra or "plain", "plain"})) + "\n")
    return python()


def _make() -> None:
    if python().exists():
        return
    print(f"Making an environment in {FOLDER.name} (once) ...", flush=True)
    try:
        venv.create(FOLDER, with_pip=True)
    except subprocess.CalledProcessError as error:
        sys.exit(
            "Python could not make a virtual environment. On some systems the venv module is a package "
            f"of its own: install it and run this again. ({error})"
        )


def _run(command: list[str]) -> None:
    done = subprocess.run(command, cwd=ROOT, check=False)
    if done.returncode:
        sys.exit(f"This step failed with exit code {done.returncode}: {' '.join(command)}")
