"""What a wiggle and a soak read through the tool's own path, against what the wire allows, and what they cost.

Usage: .venv/bin/python scripts/benchmarks/watches.py [--seconds 20] [--speeds 115200 250000]

The simulated printer runs in a process of its own, with its wire timing. The path is the one of a run: session, poller,
the desk that draws at a terminal (a pseudo-terminal of its own), and the record book on the disk. The wire allows
speed / (10 x bytes of a reply) readings a second. Shares of the processor are of this process alone. On a machine with
much else to do the figures say more of the machine; the load stands beside them. In the table of bench.py a bare loop
of the same run, which asks as often ahead, says how much of the wire the machine and the simulated printer leave to
anybody.
"""

from __future__ import annotations

import argparse
import asyncio
import math
import os
import sys
import tempfile
import threading
import time
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, cast

from prompt_toolkit.input import create_input
from prompt_toolkit.output import create_output

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from commission.asking.request import AS_FAST_AS_IT_GOES, Watch
from commission.asking.soak import Soak
from commission.cli.surroundings import settle_memory
from commission.clock import SystemClock
from commission.conductor.attention import Attention
from commission.conductor.polling import Poller
from commission.conductor.scribe import Scribe
from commission.conductor.soaking import Soaking
from commission.conductor.timed_readings import TimedReadings
from commission.desk.terminal import TerminalDesk
from commission.judge.exposure import watched
from commission.judge.stability import Sample
from commission.link.port import make_link
from commission.records.book import Book
from commission.session import Session, Traffic, connect
from commission.vocabulary import Presence
from scripts.benchmarks._figures import Figure, Size
from scripts.benchmarks._printer import printer_at
from scripts.benchmarks.dwell import SPEEDS_BAUD, bare

if TYPE_CHECKING:
    from collections.abc import Iterator

    from commission.conductor.connection import Connection

SWITCH = "filament"
PLANNED_PER_S = 10.0
"""A soak reads so often."""
WIGGLE_AIM, SOAK_AIM = 15.0, 2.0
"""Percent of one core that they may take."""


@dataclass
class Open:
    """The open conversation, as `Attention` wants it."""

    session: Session


@dataclass(frozen=True)
class Seen:
    """What a watch read.

    Attributes:
        per_s: readings a second. limit_per_s: what the wire, or the plan, allows of them.
        share: of one core.
        glitch_s: the shortest glitch seen with 95 %. gap_s: the largest gap. Not a number where it is not measured.
        lines: it in words.
    """

    what: str
    per_s: float
    limit_per_s: float
    share: float
    lines: tuple[str, ...]
    glitch_s: float = math.nan
    gap_s: float = math.nan


@dataclass
class Cost:
    """What a stretch of time took of the processor, and what came over the wire in it."""

    began_s: float = 0.0
    busy_s: float = 0.0
    received: int = 0

    def begin(self) -> None:
        """From now on."""
        self.began_s, self.busy_s, self.received = time.perf_counter(), time.process_time(), 0

    @property
    def share(self) -> float:
        """Of one core, since it began."""
        return (time.process_time() - self.busy_s) / (time.perf_counter() - self.began_s)


@contextmanager
def terminal() -> Iterator[TerminalDesk]:
    """The desk that draws, at a pseudo-terminal that somebody reads."""
    far, near = os.openpty()
    threading.Thread(target=_read_all, args=(far,), daemon=True).start()
    with os.fdopen(near, "w") as out, os.fdopen(os.dup(near)) as typed:
        yield TerminalDesk(bell=False, typed=create_input(typed), drawn=create_output(out), out=out)


def _read_all(far: int) -> None:
    """Take whatever is drawn, until the terminal is gone."""
    try:
        while os.read(far, 65536):
            pass
    except OSError:
        os.close(far)


async def measured(port: str, speed_baud: int, seconds: float, folder: Path) -> tuple[Seen, Seen]:
    """A wiggle and a soak, each of that length, on one open port."""
    clock, cost = SystemClock(), Cost()
    with Book(folder / "book.sqlite3", clock) as book, terminal() as desk:
        scribe = Scribe(book, f"bench/2031-01-01/{speed_baud}")

        def heard(part: Traffic) -> None:
            cost.received += 0 if part.sent else len(part.data)
            scribe.overheard(part)

        session = Session(make_link(port), clock, on_traffic=heard)
        await connect(session, (speed_baud,))
        await desk.open()
        settle_memory()
        try:
            attention = Attention(cast("Connection", Open(session)), desk, clock)
            wiggle = await _wiggle(attention.poller(), desk, scribe, cost, speed_baud, seconds)
            soak = await _soak(attention, desk, scribe, cost, seconds)
            return wiggle, soak
        finally:
            await desk.close()
            await session.close()
            scribe.close()


async def _wiggle(
    poller: Poller, desk: TerminalDesk, scribe: Scribe, cost: Cost, speed_baud: int, seconds: float
) -> Seen:
    """As the wiggle of a loop check is read: as fast as it goes."""
    request = Watch("wiggle", "Wiggle", (), SWITCH, Presence.IN, seconds, 0, interval_s=AS_FAST_AS_IT_GOES)
    cost.begin()
    taken = await TimedReadings(poller, desk, SystemClock(), scribe).watch(request)
    share, received = cost.share, cost.received
    seen = watched([Sample(each.at_s, each.reading) for each in taken.readings], seconds)
    limit = speed_baud / (10 * received / max(1, len(taken.readings)))
    glitch = "none" if seen.shortest_glitch_s is None else f"{1000 * seen.shortest_glitch_s:.1f} ms"
    lines = (
        f"wiggle at {speed_baud} baud: {seen.per_s:.1f} readings/s, the wire allows {limit:.1f}: "
        f"{100 * seen.per_s / limit:.1f} %",
        f"  shortest glitch seen with 95 %: {glitch}; largest gap {1000 * seen.largest_gap_s:.1f} ms",
        f"  processor {100 * share:.1f} % of one core",
    )
    shortest_s = math.nan if seen.shortest_glitch_s is None else seen.shortest_glitch_s
    return Seen("wiggle", seen.per_s, limit, share, lines, shortest_s, seen.largest_gap_s)


async def _soak(attention: Attention, desk: TerminalDesk, scribe: Scribe, cost: Cost, seconds: float) -> Seen:
    """As a soak reads at rest: ten times a second, and the card once in ten."""
    request = Soak("soak", "Soak", (), SWITCH, seconds)
    cost.begin()
    taken = await Soaking(request, attention, desk, SystemClock(), scribe).soak()
    count = sum(each.readings for each in taken.stretches)
    per_s, share = count / taken.seconds, cost.share
    line = f"soak: {per_s:.1f} readings/s, processor {100 * share:.1f} % of one core"
    return Seen("soak", per_s, PLANNED_PER_S, share, (line,))


def figures(size: Size) -> Iterator[Figure]:
    """A wiggle and a soak at each speed: readings a second, and the processor for one of them."""
    for speed_baud in SPEEDS_BAUD:
        with printer_at(speed_baud) as printer, tempfile.TemporaryDirectory() as folder:
            printer.do("insert")
            wiggle, soak = asyncio.run(measured(printer.link, speed_baud, size.watch_s, Path(folder)))
        with printer_at(speed_baud) as printer:
            printer.do("insert")  # the answer is as long as in the watches then
            floor = bare(printer.link, speed_baud, size.readings)
        name = f"wiggle at {speed_baud}"
        yield Figure(f"{name}, readings", wiggle.per_s, "/s", "the wire", wiggle.limit_per_s)
        yield Figure(f"{name}, readings", wiggle.per_s, "/s", "a bare loop", floor.per_s)
        answer_ms = 1e3 / wiggle.limit_per_s
        for what, seconds in (("glitch seen with 95 %", wiggle.glitch_s), ("largest gap", wiggle.gap_s)):
            yield Figure(f"{name}, {what}", 1e3 * seconds, "ms", "an answer", answer_ms)
        yield Figure(f"soak at {speed_baud}, readings", soak.per_s, "/s", "its plan", soak.limit_per_s)
        for seen, aim in ((wiggle, WIGGLE_AIM), (soak, SOAK_AIM)):
            yield Figure(f"{seen.what} at {speed_baud}, processor", 100 * seen.share, "%", "its aim", aim)
            each = 1e3 * seen.share / seen.per_s
            yield Figure(
                f"{seen.what} at {speed_baud}, processor a reading", each, "ms", "a bare loop", 1e3 * floor.busy_s
            )


def main(arguments: list[str]) -> None:
    """Measure each speed and print its lines."""
    parser = argparse.ArgumentParser(description="Measure a wiggle and a soak through the tool's own path.")
    parser.add_argument("--seconds", type=float, default=20.0, help="length of each watch (default 20)")
    parser.add_argument("--speeds", type=int, nargs="+", default=list(SPEEDS_BAUD), help="in baud")
    options = parser.parse_args(arguments)
    if not 1 <= options.seconds <= 600:
        parser.error("--seconds takes 1 to 600")
    for speed_baud in options.speeds:
        with printer_at(speed_baud) as printer, tempfile.TemporaryDirectory() as folder:
            printer.do("insert")
            seen = asyncio.run(measured(printer.link, speed_baud, options.seconds, Path(folder)))
        lines = [line for each in seen for line in each.lines]
        print("\n".join(lines), flush=True)
        print(
            f"  load of the machine in the last minute: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores", flush=True
        )


if __name__ == "__main__":
    main(sys.argv[1:])
