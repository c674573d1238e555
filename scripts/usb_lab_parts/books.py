"""The books and reports that come out of the emulated PC, judged on this machine."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator, Sequence
from pathlib import Path

from scripts.usb_lab_parts.check import Check
from scripts.usb_lab_parts.lab import Lab


def brought_back(lab: Lab, patterns: Sequence[str] = ()) -> Iterator[Check]:
    """The scenario's folder is fetched: every file is there, and the book is whole, judged on this machine."""
    fetched = lab.fetch()
    missing = [pattern for pattern in patterns if not any(file.stat().st_size for file in fetched.glob(pattern))]
    yield Check("files missing", [], missing)
    yield Check("book whole", 0, _verified(lab, fetched / "book.sqlite3"))


def _verified(lab: Lab, book: Path) -> int:
    command = [str(lab.python), "-m", "commission", "book", "verify", "--book", str(book)]
    return subprocess.run(command, cwd=lab.project, capture_output=True, check=False, timeout=60).returncode
