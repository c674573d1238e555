"""How many readings a second a dwell can take, against what the wire allows and against a bare loop in the same run.

Usage: python scripts/bench/dwell.py

Starts the simulated printer on a pseudo-terminal paced at 115200 baud. The baseline is a loop of bare system calls that
asks the same question and waits for its acknowledgement; the wire's own limit is speed / (10 x bytes of the reply).
"""

from __future__ import annotations

import asyncio
import os
import sys
import termios
import time
from contextlib import aclosing
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from commission.clock import SystemClock
from commission.dialect.commands import SWITCHES
from commission.link.port import make_link
from commission.session import Session, connect
from tests.support.fake_process import running_printer

READINGS = 300
SPEED_BAUD = 115200


def bare(port: str, speed_baud: int) -> tuple[float, int]:
    """Readings a second by bare system calls, and the bytes of one reply."""
    pipe = os.open(port, os.O_RDWR | os.O_NOCTTY)
    try:
        modes = termios.tcgetattr(pipe)
        modes[4] = modes[5] = getattr(termios, f"B{speed_baud}")
        termios.tcsetattr(pipe, termios.TCSANOW, modes)
        time.sleep(4.0)
        os.set_blocking(pipe, False)
        while _drained(pipe):
            pass
        os.set_blocking(pipe, True)
        size = 0
        began = time.perf_counter()
        for _ in range(READINGS):
            os.write(pipe, SWITCHES.text.encode() + b"\n")
            reply = b""
            while not reply.endswith(b"ok\n"):
                reply += os.read(pipe, 4096)
            size = len(reply)
        return READINGS / (time.perf_counter() - began), size
    finally:
        os.close(pipe)


def _drained(pipe: int) -> bytes:
    try:
        return os.read(pipe, 4096)
    except BlockingIOError:
        return b""


async def dwell(port: str, speed_baud: int) -> float:
    """Readings a second as a dwell takes them when it takes all it can."""
    session = Session(make_link(port), SystemClock(), on_traffic=lambda _part: None)
    await connect(session, (speed_baud,))
    try:
        count, began = 0, time.perf_counter()
        async with aclosing(session.poll(SWITCHES, 0.0, 2.0)) as polls:
            async for _done in polls:
                count += 1
                if count == READINGS:
                    break
        return count / (time.perf_counter() - began)
    finally:
        await session.close()


def main() -> None:
    """Measure both and print the ratios."""
    with running_printer("sound") as printer:
        floor, size = bare(printer.link, SPEED_BAUD)
    with running_printer("sound") as printer:
        rate = asyncio.run(dwell(printer.link, SPEED_BAUD))
    wire = SPEED_BAUD / (10 * size)
    print(f"reply of {size} bytes at {SPEED_BAUD} baud: the wire allows {wire:.1f} readings/s")
    print(f"bare loop  {floor:7.1f} readings/s  {floor / wire:.2f} of the wire")
    print(f"dwell      {rate:7.1f} readings/s  {rate / wire:.2f} of the wire  {rate / floor:.2f} of the bare loop")


if __name__ == "__main__":
    main()
