"""What it costs to check many printers at once: wall time beside one printer's, processor time, memory.

Usage: .venv/bin/python scripts/benchmarks/many.py [--printers 100] [--times 3] [--steady 5]

The printers are simulated in one process of their own, on sockets paced like a line. Each is installed on record. One
`check --all` checks all of them, as often as told: the second check is held against the first, and so on. The baseline
is the same command on one printer of the same simulator, before and after. Processor time and memory are those of the
tool's process alone. On a busy machine the wall times say little, and the processor times nearly all.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from statistics import mean

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from commission.clock import SystemClock
from commission.evidence.findings.meeting import Consent
from commission.evidence.runs import Opened
from commission.records.book import Book
from scripts.benchmarks._figures import Figure, Size
from tests.support.fake_process import FakeFleet, running_fleet
from tests.support.made import begun, ended, found

FLEET = 'format = 1\n\n[[units]]\nunit = "sound"\nname = "bench-{{n}}"\nport = "tcp"\ncount = {count}\n'
BASELINE = "one printer's"
STEADY_S = 5.0
PATIENCE_S = 600.0


@dataclass(frozen=True)
class Came:
    """One call of the command: wall and processor time in seconds, memory, and the exit codes of the printers."""

    wall_s: float
    busy_s: float
    memory_mb: float
    codes: Sequence[int]


class Workshop:
    """A book and a roster of some printers, each installed, with its owner's consent.

    Args:
        folder: where they lie; it must be empty.
        ports: of each printer, by its name.
    """

    def __init__(self, folder: Path, ports: dict[str, str]) -> None:
        self._folder = folder
        listed = [f'[[printer]]\ntag = "{tag}"\nport = "{port}"\n' for tag, port in ports.items()]
        (folder / "roster.toml").write_text("format = 1\n\n" + "\n".join(listed), encoding="utf-8")
        with Book(folder / "book.sqlite3", SystemClock()) as book, book.together():
            for tag, port in ports.items():
                run = f"{tag}/2031-03-14/1"
                book.append(run, begun(run))
                book.append(run, Opened(port=port, restarted=False))
                book.append(run, found(Consent, "Consent was given.", granted=True, by="R. Okafor"))
                book.append(run, ended())

    def checked(self, steady_s: float) -> Came:
        """Check all of them once.

        Raises:
            SystemExit: the check of a printer came to no end.
        """
        words = ["check", "--all", "--may-restart", "--json", "--steady", str(steady_s)]
        words += ["--roster", "roster.toml", "--book", "book.sqlite3"]
        began_s = time.monotonic()
        with (self._folder / "said").open("w+", encoding="utf-8") as said:
            command = [sys.executable, "-m", "commission", *words]
            process = subprocess.Popen(command, cwd=self._folder, stdout=subprocess.DEVNULL, stderr=said)
            _, _, used = os.wait4(process.pid, 0)
            process.returncode = 0  # it was waited for here, for what it used
            wall_s = time.monotonic() - began_s
            said.seek(0)
            events = [json.loads(line) for line in said if line.startswith("{")]
        codes = [event["code"] for event in events if event["event"] == "ended"]
        if any(code > 1 for code in codes) or not codes:
            raise SystemExit(f"Not every check came to its end: {sorted(codes)}")
        return Came(wall_s, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, codes)


@contextmanager
def simulated(count: int) -> Iterator[FakeFleet]:
    """So many printers with filament in."""
    with tempfile.TemporaryDirectory(prefix="many-bench-") as folder:
        file = Path(folder) / "fleet.toml"
        file.write_text(FLEET.format(count=count), encoding="utf-8")
        with running_fleet(file) as fleet:
            for printer in fleet.printers.values():
                printer.do("insert")
            yield fleet


def measured(printers: int, times: int, steady_s: float) -> tuple[list[Came], list[Came]]:
    """So many checks of all of them, and one printer's before and after."""
    with simulated(printers) as fleet, tempfile.TemporaryDirectory(prefix="many-bench-") as place:
        ports = {tag: printer.link for tag, printer in fleet.printers.items()}
        for name in ("one", "all"):
            (Path(place) / name).mkdir()
        one = Workshop(Path(place) / "one", dict(list(ports.items())[:1]))
        every = Workshop(Path(place) / "all", ports)
        alone = [one.checked(steady_s)]
        beside = [every.checked(steady_s) for _ in range(times)]
        return [*alone, one.checked(steady_s)], beside


def figures(size: Size) -> Iterator[Figure]:
    """The first check of all and the second, beside one printer's."""
    alone, beside = measured(size.printers, 2, STEADY_S)
    wall_s, busy_s = mean(each.wall_s for each in alone), mean(each.busy_s for each in alone)
    for which, came in zip(("first", "second"), beside, strict=True):
        what = f"{which} check of {size.printers} printers at once"
        yield Figure(f"{what}, wall", came.wall_s, "s", BASELINE, wall_s)
        yield Figure(f"{what}, processor", came.busy_s, "s", BASELINE, busy_s)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--printers", type=int, default=100)
    parser.add_argument("--times", type=int, default=3, help="checks of all of them, each held against those before")
    parser.add_argument("--steady", type=float, default=STEADY_S, help="seconds of watch in each check")
    options = parser.parse_args()
    load = os.getloadavg()[0]
    alone, beside = measured(options.printers, options.times, options.steady)
    wall_s = mean(each.wall_s for each in alone)
    print(f"one printer: {wall_s:.1f} s of wall, {mean(each.busy_s for each in alone):.2f} s of the processor")
    for number, came in enumerate(beside, start=1):
        wall = f"{came.wall_s:.1f} s of wall ({came.wall_s / wall_s:.2f}x)"
        busy = f"{came.busy_s:.2f} s of the processor, {1e3 * came.busy_s / options.printers:.0f} ms a printer"
        print(f"check {number} of {options.printers} printers: {wall}, {busy}, {came.memory_mb:.0f} MB")
    print(f"load of the machine: {load:.1f} before, {os.getloadavg()[0]:.1f} after, on {os.cpu_count()} cores")


if __name__ == "__main__":
    main()
