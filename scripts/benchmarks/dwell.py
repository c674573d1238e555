"""How many readings a second a dwell can take, against what the wire allows and against a bare loop in the same run.

Usage: python scripts/benchmarks/dwell.py

Starts the simulated printer on a pseudo-terminal paced at 115200 and at 250000 baud. The baseline is a loop of bare
system calls that asks the same question as often ahead as the tool does, and waits for its acknowledgement: what it
misses of the wire, the machine and the simulated printer take. The wire's own limit is
speed / (10 x bytes of the reply).
"""

from __future__ import annotations

import asyncio
import os
import sys
import termios
import time
from collections.abc import Iterator
from contextlib import aclosing
from dataclasses import dataclass
from pathlib import Path

import serial

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from commission.clock import SystemClock
from commission.dialect.commands import SWITCHES
from commission.dialect.exchange import MOST_ON_THE_WAY
from commission.link.port import make_link
from commission.session import Session, connect
from commission.session.ahead import QUICK_S
from scripts.benchmarks._figures import QUICK, Figure, Size
from scripts.benchmarks._printer import printer_at

SPEEDS_BAUD = (115200, 250000)
BOOT_S = 4.0
"""Opening the port restarts the board; by then it has said all it says of itself."""
_QUESTION, _END = SWITCHES.text.encode() + b"\n", b"ok\n"


@dataclass(frozen=True)
class Rate:
    """Readings a second, seconds of this process's processor for one, and the bytes of a reply where they are known."""

    per_s: float
    busy_s: float
    size: int = 0


def bare(port: str, speed_baud: int, readings: int) -> Rate:
    """By bare system calls."""
    opened = serial.Serial(port, speed_baud)  # sets speeds without a name of the system's too; no more of it is used
    pipe = opened.fileno()
    try:
        modes = termios.tcgetattr(pipe)
        modes[6][termios.VMIN] = 1  # a read waits for a byte; the library would have it return at once
        termios.tcsetattr(pipe, termios.TCSANOW, modes)
        time.sleep(BOOT_S)
        os.set_blocking(pipe, False)
        while _drained(pipe):
            pass
        os.set_blocking(pipe, True)
        size = len(_asked(pipe, bytearray(), 1))
        ahead = MOST_ON_THE_WAY - 1 if 10 * size / speed_baud < QUICK_S else 1
        os.write(pipe, _QUESTION * ahead)
        heard = bytearray()
        began, busy = time.perf_counter(), time.process_time()
        for _ in range(readings):
            _asked(pipe, heard, 1)
        rate = Rate(readings / (time.perf_counter() - began), (time.process_time() - busy) / readings, size)
        for _ in range(ahead):
            _asked(pipe, heard, 0)
        return rate
    finally:
        opened.close()


def _asked(pipe: int, heard: bytearray, questions: int) -> bytes:
    """Send so many questions, and bring the next answer."""
    if questions:
        os.write(pipe, _QUESTION * questions)
    while _END not in heard:
        heard += os.read(pipe, 4096)
    reply = bytes(heard[: heard.index(_END) + len(_END)])
    del heard[: len(reply)]
    return reply


def _drained(pipe: int) -> bytes:
    try:
        return os.read(pipe, 4096)
    except BlockingIOError:
        return b""


async def dwell(port: str, speed_baud: int, readings: int) -> Rate:
    """As a dwell takes them when it takes all it can."""
    session = Session(make_link(port), SystemClock(), on_traffic=lambda _part: None)
    await connect(session, (speed_baud,))
    try:
        count, began, busy = 0, time.perf_counter(), time.process_time()
        async with aclosing(session.poll(SWITCHES, 0.0, 2.0)) as polls:
            async for _done in polls:
                count += 1
                if count == readings:
                    break
        return Rate(count / (time.perf_counter() - began), (time.process_time() - busy) / count)
    finally:
        await session.close()


def figures(size: Size) -> Iterator[Figure]:
    """Readings a second, and what one costs, at each speed."""
    for speed_baud in SPEEDS_BAUD:
        with printer_at(speed_baud) as printer:
            floor = bare(printer.link, speed_baud, size.readings)
        with printer_at(speed_baud) as printer:
            taken = asyncio.run(dwell(printer.link, speed_baud, size.readings))
        wire = speed_baud / (10 * floor.size)
        name = f"dwell at {speed_baud}"
        yield Figure(f"{name}, readings", taken.per_s, "/s", "the wire", wire)
        yield Figure(f"{name}, readings", taken.per_s, "/s", "a bare loop", floor.per_s)
        yield Figure(f"{name}, processor a reading", 1e3 * taken.busy_s, "ms", "a bare loop", 1e3 * floor.busy_s)


def main() -> None:
    """Measure and print the ratios."""
    for each in figures(QUICK):
        print(f"{each.what}: {each.value:.3f} {each.unit}, {each.ratio:.2f} of {each.baseline}")


if __name__ == "__main__":
    main()
