"""What the record costs while it is written and drawn: entries a second, and the report of a run with many readings.

Usage: python scripts/benchmarks/writing.py

Entries are appended one by one, each on the disk before the next. The baseline is a table of bare SQLite in the same
folder that is given the same texts, one commit each, with the same log and the same care (`synchronous=FULL`). The
report is drawn of a made-up run whose one watch has all the readings; its baseline is the same run with a hundredth.
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from commission.clock import SystemClock
from commission.evidence.measured import TimedReading, Watch
from commission.evidence.runs import Note
from commission.records.book import Book
from commission.report.write import write_reports
from commission.vocabulary import Presence, Reading
from scripts.benchmarks._figures import QUICK, Figure, Size
from tests.support.made import begun, ended, made

RUN = "bench-3/2031-03-14/1"
FORMATS = ("html", "markdown", "json")
FLIPS_EVERY = 997
"""The made-up switch changes at each reading whose number this divides."""


def bare_per_s(place: Path, texts: list[str]) -> float:
    """Commits a second of bare SQLite."""
    table = sqlite3.connect(place, isolation_level=None)
    try:
        table.execute("PRAGMA journal_mode=WAL")
        table.execute("PRAGMA synchronous=FULL")
        table.execute("CREATE TABLE entries (sequence INTEGER PRIMARY KEY, payload TEXT)")
        began_s = time.perf_counter()
        for text in texts:
            table.execute("BEGIN IMMEDIATE")
            table.execute("INSERT INTO entries (payload) VALUES (?)", (text,))
            table.execute("COMMIT")
        return len(texts) / (time.perf_counter() - began_s)
    finally:
        table.close()


def entries_per_s(place: Path, texts: list[str]) -> float:
    """Entries a second through the book."""
    with Book(place, SystemClock()) as book:
        began_s = time.perf_counter()
        for text in texts:
            book.append(RUN, made(Note, text=text))
        return len(texts) / (time.perf_counter() - began_s)


def report_s(folder: Path, readings: int) -> float:
    """Seconds in which the reports of a run with so many readings are drawn and written."""
    folder.mkdir()
    with Book(folder / "book.sqlite3", SystemClock()) as book:
        book.append(RUN, begun(RUN))
        book.append(RUN, _watch(readings))
        book.append(RUN, ended())
        began_s = time.perf_counter()
        write_reports(book, RUN, folder, FORMATS)
        return time.perf_counter() - began_s


def _watch(count: int) -> Watch:
    states = (Reading.ACTIVE, Reading.INACTIVE)
    readings = tuple(
        TimedReading(number / 100, states[number % FLIPS_EVERY == 0], "TRIGGERED") for number in range(count)
    )
    return Watch(
        title="Wiggle",
        presence=Presence.IN,
        key="wiggle",
        switch="filament",
        seconds=count / 100,
        readings=readings,
        taken_s=count / 100,
        largest_gap_s=0.01,
    )


def figures(size: Size) -> Iterator[Figure]:
    """Both, each beside its baseline."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        texts = [f"made up, number {number}: the filament was pulled by hand" for number in range(size.entries)]
        bare = bare_per_s(folder / "bare.sqlite3", texts)
        yield Figure("entries", entries_per_s(folder / "book.sqlite3", texts), "/s", "bare SQLite", bare)
        few = max(1, size.reading_count // 100)
        base_s = report_s(folder / "few", few)
        whole_s = report_s(folder / "many", size.reading_count)
        yield Figure(f"report of {size.reading_count:,} readings", whole_s, "s", f"of {few:,}", base_s)


if __name__ == "__main__":
    for each in figures(QUICK):
        print(f"{each.what}: {each.value:.2f} {each.unit}, {each.ratio:.2f} of {each.baseline}")
