"""How long the program takes to begin: its overview, and the first byte of an unattended check on the wire.

Usage: python scripts/benchmarks/start.py

The baseline is the interpreter that loads the serial library and ends, a process of the same run. Each is begun several
times in turn; the median counts.
"""

from __future__ import annotations

import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from commission.clock import SystemClock
from commission.evidence.findings.meeting import Consent
from commission.evidence.found import Established
from commission.records.book import Book
from scripts.benchmarks._figures import QUICK, Figure, Size
from tests.support.made import begun, ended

BASELINE = "the interpreter with the serial library"
TAG = "bench-3"
PATIENCE_S = 60.0


def seconds_of(words: list[str], folder: Path) -> float:
    """From its start to the end of a process that ends by itself."""
    began_s = time.perf_counter()
    subprocess.run([sys.executable, *words], cwd=folder, check=True, stdout=subprocess.DEVNULL, timeout=PATIENCE_S)
    return time.perf_counter() - began_s


def first_byte_s(folder: Path) -> float:
    """From the start of an unattended check to the first byte that its printer is sent."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        listener.settimeout(PATIENCE_S)
        words = ["check", TAG, "--unattended", "--port", f"socket://127.0.0.1:{listener.getsockname()[1]}"]
        command = [sys.executable, "-m", "commission", *words, "--book", str(folder / "book.sqlite3")]
        began_s = time.perf_counter()
        with subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as process:
            try:
                visitor, _ = listener.accept()
                with visitor:
                    visitor.settimeout(PATIENCE_S)
                    if not visitor.recv(1):
                        raise SystemExit("The check hung up without a word.")
                    return time.perf_counter() - began_s
            finally:
                process.kill()


def figures(size: Size) -> Iterator[Figure]:
    """Both, beside the baseline."""
    bare, overview, first = [], [], []
    for _ in range(size.starts):
        with tempfile.TemporaryDirectory() as place:
            folder = Path(place)
            _consented(folder / "book.sqlite3")
            bare.append(seconds_of(["-c", "import serial"], folder))
            overview.append(seconds_of(["-m", "commission", "--help"], folder))
            first.append(first_byte_s(folder))
    yield Figure("start of --help", 1e3 * median(overview), "ms", BASELINE, 1e3 * median(bare))
    yield Figure("first byte of an unattended check", 1e3 * median(first), "ms", BASELINE, 1e3 * median(bare))


def _consented(place: Path) -> None:
    """A book in which the printer is installed, and the owner agrees to have its port opened with nobody near."""
    run = f"{TAG}/2031-03-14/1"
    with Book(place, SystemClock()) as book:
        book.append(run, begun(run))
        book.append(run, Established(finding=Consent(granted=True, by="R. Okafor")))
        book.append(run, ended())


if __name__ == "__main__":
    for each in figures(QUICK):
        print(f"{each.what}: {each.value:.0f} {each.unit}, {each.ratio:.2f} of {each.baseline}")
