"""How long a change of the switch takes to become a reading, in exchanges.

Usage: python scripts/benchmarks/exchange.py

A board of a few lines, in a process of its own on a pseudo-terminal, answers as slowly as its wire would, and changes
its switch at moments that were drawn beforehand, by the clock that all processes share. It is asked as fast as the wire
allows, as in a dwell and a wiggle. Counted is the time from each change to the end of the first answer that shows it;
the baseline is one exchange of the same run (median).
"""

from __future__ import annotations

import asyncio
import itertools
import os
import random
import subprocess
import sys
import tempfile
import time
import tty
from collections.abc import Iterator, Sequence
from contextlib import aclosing, contextmanager
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from commission.clock import SystemClock
from commission.dialect.commands import SWITCHES
from commission.link.port import make_link
from commission.session import Session, connect
from scripts.benchmarks._figures import QUICK, Figure, Size, quantile

SPEED_BAUD = 115200
BEGIN_S = 4.0
"""By then the board is known and asked."""
REST_S = (0.15, 0.35)
"""Between two changes, drawn evenly."""
BOARD = """
import os, sys, time
handle, baud = int(sys.argv[1]), int(sys.argv[2])
edges = [float(each) for each in sys.argv[3].split(",")]
def answer(line):
    if line == b"M115":
        return b"FIRMWARE_NAME:ExampleFW 102.1.2 EXTRUDER_COUNT:1\\nok\\n"
    level = (b"open", b"TRIGGERED")[sum(edge <= time.monotonic() for edge in edges) % 2]
    return b"Reporting endstop status\\nx_min: open\\ny_min: open\\nz_min: open\\nfilament: " + level + b"\\nok\\n"
heard = b""
while True:
    try:
        heard += os.read(handle, 4096)
        while b"\\n" in heard:
            line, _, heard = heard.partition(b"\\n")
            said = answer(line)
            time.sleep(len(said) * 10 / baud)
            os.write(handle, said)
    except OSError:
        break
"""


@contextmanager
def board(edges: Sequence[float]) -> Iterator[str]:
    """The board, and the path to its port."""
    master, slave = os.openpty()
    tty.setraw(slave)
    words = [sys.executable, "-c", BOARD, str(master), str(SPEED_BAUD), ",".join(map(str, edges))]
    with tempfile.TemporaryDirectory() as folder, subprocess.Popen(words, pass_fds=[master]) as process:
        os.close(master)
        path = Path(folder) / "port"
        path.symlink_to(os.ttyname(slave))
        try:
            yield str(path)
        finally:
            process.kill()
            os.close(slave)


async def readings_until(port: str, end_s: float) -> list[tuple[float, str]]:
    """Every line of the switch up to that moment, with the moment at which its answer was whole."""
    session = Session(make_link(port), SystemClock(), on_traffic=lambda _part: None)
    await connect(session, (SPEED_BAUD,))
    seen: list[tuple[float, str]] = []
    try:
        async with aclosing(session.poll(SWITCHES, 0.0, 2.0)) as polls:
            async for done in polls:
                seen.extend((done.ended_s, line) for line in done.lines if line.startswith("filament:"))
                if time.monotonic() >= end_s:
                    break
    finally:
        await session.close()
    return seen


def shown_after(edges: Sequence[float], seen: Sequence[tuple[float, str]]) -> list[float]:
    """Seconds from each change to the first answer that shows it; a change that none shows is not left out: an error.

    Raises:
        SystemExit: there are fewer changes in the answers than there were.
    """
    changes = [after[0] for before, after in itertools.pairwise(seen) if before[1] != after[1]]
    if len(changes) != len(edges):
        raise SystemExit(f"The switch changed {len(edges)} times, and the answers show {len(changes)}.")
    return [shown_s - edge_s for edge_s, shown_s in zip(edges, changes, strict=True)]


def figures(size: Size) -> Iterator[Figure]:
    """The middle and the far end of the distribution, beside one exchange."""
    chance = random.Random(1)  # noqa: S311 - repeatable on purpose
    rests = [chance.uniform(*REST_S) for _ in range(size.edges)]
    edges = list(itertools.accumulate(rests, initial=time.monotonic() + BEGIN_S))[1:]
    with board(edges) as port:
        seen = asyncio.run(readings_until(port, edges[-1] + 1.0))
    latencies = shown_after(edges, seen)
    exchange_s = median(after[0] - before[0] for before, after in itertools.pairwise(seen))
    for name, share in (("p50", 0.5), ("p99", 0.99)):
        told = f"edge to reading at {SPEED_BAUD}, {name} of {len(latencies)}"
        yield Figure(told, 1e3 * quantile(latencies, share), "ms", "one exchange", 1e3 * exchange_s)


if __name__ == "__main__":
    for each in figures(QUICK):
        print(f"{each.what}: {each.value:.1f} {each.unit}, {each.ratio:.2f} of {each.baseline}")
