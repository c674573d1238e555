"""What a record costs as it grows: due list, overview, a printer's history, and bytes; each book beside the one before.

Usage: python scripts/benchmarks/record.py [--quick] [--runs 500 5000 50000] [--checks 50] [--limit 900] [--seed 1]

The books are made up (`scripts/made_up_books.py`), the same for the same seed. Times are processor times of this
process alone, the best of three, so that what else runs on the machine changes little; each question is asked of a book
that was just opened. A ratio near that of the runs is growth in step; its square would be growth with the square. The
largest of the usual three books is a workshop of 1,000 printers with 50 checks each. A book that would take longer than
the limit to write, by the time the one before took, is left out, and that is said.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from commission.clock import SystemClock
from commission.fleet.overview import overview
from commission.records.book import Book
from commission.records.consent import consent_on_record
from commission.records.due import due_list
from commission.records.history import deciding_runs
from commission.records.open_items import open_items
from commission.records.trend import trends
from commission.records.unsettled import unsettled_of_printers
from scripts.benchmarks._figures import Figure, Size
from scripts.made_up_books import Workshop, write_book

TODAY = date(2032, 6, 1)
ONE = "bench-1"
QUESTIONS: dict[str, Callable[[Book], object]] = {
    "due list": lambda book: due_list(book, TODAY),
    "overview": lambda book: overview(book, TODAY),
    "open items of all": lambda book: unsettled_of_printers(book, deciding_runs(book)),
    "trends of one": lambda book: trends(book, ONE),
    "open items of one": lambda book: open_items(book, ONE),
    "consent of one": lambda book: consent_on_record(book, ONE),
}
CHECKS_EACH = 50
FIGURES = ("due list", "overview", "open items of all")


def main() -> None:
    """Measure and print."""
    options = _options()
    head = "  ".join(f"{name:>20}" for name in QUESTIONS)
    print(f"{'runs':>8} {'printers':>9} {'bytes a run':>12} {'runs/s written':>15}  {head}")
    before: list[float] = []
    a_run_s = 0.0
    for runs in options.runs:
        if runs * a_run_s > options.limit:
            print(
                f"{runs:8} left out: writing it would take {runs * a_run_s:.0f} s, the limit is {options.limit:.0f} s"
            )
            continue
        each = min(options.checks, runs)
        before, a_run_s = _line(Workshop(runs // each, each, seed=options.seed), before)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--runs", type=int, nargs="+", default=[500, 5_000, 50_000])
    parser.add_argument("--checks", type=int, default=CHECKS_EACH, help="runs of each printer")
    parser.add_argument("--limit", type=float, default=900.0, help="seconds that a book may take to write")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--quick", action="store_true", help="at most 1,000 runs")
    options = parser.parse_args()
    if options.quick:
        options.runs = [each for each in options.runs if each <= 1_000]
    return options


def _line(workshop: Workshop, before: list[float]) -> tuple[list[float], float]:
    """One book: its size and each question, with how much more it takes than in the book before; seconds a run."""
    with tempfile.TemporaryDirectory(prefix="record-bench-") as folder:
        place = Path(folder) / "book.sqlite3"
        began_s, busy_s = time.monotonic(), time.process_time()
        runs = write_book(place, workshop)
        a_run_s, per_s = (time.monotonic() - began_s) / runs, runs / (time.process_time() - busy_s)
        size = place.stat().st_size
        taken = [_seconds(place, ask) for ask in QUESTIONS.values()]
    told = [f"{one:9.4f} s" + (f" ({one / last:6.1f}x)" if last else " " * 10) for one, last in _beside(taken, before)]
    print(f"{runs:8} {workshop.printers:9} {size / runs:12.0f} {per_s:15.0f}  " + "  ".join(told), flush=True)
    return taken, a_run_s


def figures(size: Size) -> Iterator[Figure]:
    """The due list and the overview of each book, beside those of the smallest one."""
    first: dict[str, float] = {}
    for runs in size.runs:
        each = min(CHECKS_EACH, runs)
        with tempfile.TemporaryDirectory(prefix="record-bench-") as folder:
            place = Path(folder) / "book.sqlite3"
            write_book(place, Workshop(runs // each, each, seed=1))
            for name in FIGURES:
                taken = 1e3 * _seconds(place, QUESTIONS[name])
                base = first.setdefault(name, taken)
                yield Figure(f"{name} of {runs:,} runs, processor", taken, "ms", f"{size.runs[0]:,} runs", base)


def _beside(taken: list[float], before: list[float]) -> list[tuple[float, float]]:
    return list(zip(taken, before or [0.0] * len(taken), strict=True))


def _seconds(place: Path, ask: Callable[[Book], object]) -> float:
    best = float("inf")
    for _ in range(3):
        with Book(place, SystemClock(), reads_only=True) as book:
            began = time.process_time()
            ask(book)
            best = min(best, time.process_time() - began)
    return best


if __name__ == "__main__":
    main()
