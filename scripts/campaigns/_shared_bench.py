"""A bench at work, for a process that may be killed at any moment: it writes runs and syncs after each."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from datetime import date
from multiprocessing.connection import Connection
from pathlib import Path

from commission.clock import SystemClock
from commission.evidence.runs import RULES, RunEnded, RunStarted
from commission.evidence.talk import Told
from commission.records.book import Book
from commission.records.shared.address import SharedAddress
from commission.records.shared.line import SharedAway, engine_on
from commission.records.shared.sync import sync
from commission.vocabulary import Outcome, Verdict

ENTRIES = 12
DAY = date(2031, 3, 14)


def at_work(book: str, address: str, tag: str, count: int, line: Connection) -> None:
    """Write so many runs; each word on the line tells what has been done: ready, ended RUN, synced, away, strange."""
    try:
        line.send("ready")
        for _ in range(count):
            line.send(f"ended {_run(Path(book), tag)}")
            line.send(_synced(Path(book), address, tag))
    except BaseException:
        line.send(f"strange {traceback.format_exc()[-500:]}")
        raise


def _run(place: Path, tag: str) -> str:
    begin: Callable[[str], RunStarted] = lambda number: RunStarted(  # noqa: E731 - called with its number
        number=number, tag=tag, purpose="brief check", operator="R. Okafor", port="/dev/made-up"
    )
    with Book(place, SystemClock()) as book:
        run = book.start_run(tag, DAY, begin).run
        for entry in range(ENTRIES):
            book.append(run, Told(heading=f"{run}: {entry}"), raw=bytes(range(200)) * entry)
        book.append(run, RunEnded(outcome=Outcome.COMPLETE, verdict=Verdict.PASS, rules=RULES))
    return run


def _synced(place: Path, address: str, tag: str) -> str:
    try:
        done = sync(place, SharedAddress(address), SystemClock(), tag)
    except SharedAway:
        return "away"
    return "synced" if done.whole else f"strange {done}"


engine_on(SharedAddress("postgresql://localhost/x")).dispose()  # what the library loads late is loaded before the forks
