"""How many round trips a second each kind of link makes, beside the floor that no program can pass.

Usage: .venv/bin/python scripts/benchmarks/link.py

One board in a process of its own answers a 5-byte command with 120 bytes. The floor is os.write, select and os.read on
the same pseudo-terminal in the same run, so that the ratios hold on a machine that is busy with other things. Bounded:
each kind runs for one second. On Linux and macOS.
"""

from __future__ import annotations

import asyncio
import os
import select
import socket
import subprocess
import sys
import tempfile
import threading
import time
import tty
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from commission.link.port import ResetLines, make_link, open_device
from commission.link.threaded import ThreadLink
from scripts.benchmarks._figures import Figure, Size
from tests.link.far_ends import FakeSharedFarEnd

if TYPE_CHECKING:
    from commission.link.base import Link

COMMAND = b"M119\n"
REPLY = b"x" * 117 + b"ok\n"
SECONDS_EACH = 1.0
BOARD = f"""
import os, select, sys
handle = int(sys.argv[1])
while select.select([handle], [], [], 30)[0]:
    try:
        for _ in range(os.read(handle, 4096).count(10)):
            os.write(handle, {REPLY!r})
    except OSError:
        break
"""


def main() -> None:
    """Measure each kind in turn and print one line per kind."""
    warnings.filterwarnings("ignore", category=DeprecationWarning, module="serial.rfc2217")
    with tempfile.TemporaryDirectory() as folder:
        floor = _floor()
        print(f"{'floor (os.write, select, os.read)':34} {floor:7.0f} round trips/s   100 %")
        for kind in ("device", "device by thread", "socket", "rfc2217"):
            rate, opening_s, closing_s, gap_s = asyncio.run(_measured(kind, Path(folder)))
            print(
                f"{kind:34} {rate:7.0f} round trips/s {100 * rate / floor:5.0f} %   "
                f"open {1000 * opening_s:6.1f} ms   close {1000 * closing_s:6.1f} ms   "
                f"longest loop gap while closing {1000 * gap_s:4.1f} ms"
            )


def figures(_size: Size) -> Iterator[Figure]:
    """Round trips a second of each kind of link, for one second each."""
    warnings.filterwarnings("ignore", category=DeprecationWarning, module="serial.rfc2217")
    with tempfile.TemporaryDirectory() as folder:
        floor = _floor()
        for kind in ("device", "socket", "rfc2217"):
            rate, _, _, _ = asyncio.run(_measured(kind, Path(folder)))
            yield Figure(f"round trips, {kind}", rate, "/s", "bare system calls", floor)


def _board() -> tuple[subprocess.Popen[bytes], int]:
    """A board in its own process; the handle is the slave side of its terminal."""
    master, slave = os.openpty()
    tty.setraw(slave)
    process = subprocess.Popen([sys.executable, "-c", BOARD, str(master)], pass_fds=[master])
    os.close(master)
    return process, slave


def _floor() -> float:
    process, slave = _board()
    _raw_round_trip(slave)
    count, end_s = 0, time.perf_counter() + SECONDS_EACH
    while time.perf_counter() < end_s:
        _raw_round_trip(slave)
        count += 1
    process.kill()
    process.wait()
    os.close(slave)
    return count / SECONDS_EACH


def _raw_round_trip(handle: int) -> None:
    os.write(handle, COMMAND)
    missing = len(REPLY)
    while missing:
        if not select.select([handle], [], [], 10)[0]:
            raise SystemExit("The board does not answer.")
        missing -= len(os.read(handle, 4096))


async def _measured(kind: str, folder: Path) -> tuple[float, float, float, float]:
    if kind.startswith("device"):
        return await _on_device(kind, folder)
    if kind == "socket":
        return await _on_socket()
    return await _on_shared()


async def _on_device(kind: str, folder: Path) -> tuple[float, float, float, float]:
    process, slave = _board()
    path = folder / kind.replace(" ", "-")
    path.symlink_to(os.ttyname(slave))
    link: Link = make_link(str(path))
    if kind == "device by thread":
        link = ThreadLink(str(path), lambda speed: open_device(str(path), ResetLines.AS_IS, speed), lambda _: None)
    try:
        return await _timed(link)
    finally:
        process.kill()
        process.wait()
        os.close(slave)


async def _on_socket() -> tuple[float, float, float, float]:
    """The board answers from a thread: it needs a listening socket, which a process would have to announce."""
    listener = socket.create_server(("127.0.0.1", 0))
    threading.Thread(target=_answer, args=(listener,), daemon=True).start()
    try:
        return await _timed(make_link(f"socket://127.0.0.1:{listener.getsockname()[1]}"))
    finally:
        listener.close()


def _answer(listener: socket.socket) -> None:
    connection, _ = listener.accept()
    with connection:
        connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        while data := connection.recv(4096):
            connection.sendall(REPLY * data.count(b"\n"))


async def _on_shared() -> tuple[float, float, float, float]:
    """The port server and the board share this process: the rate is that of both together."""
    far = FakeSharedFarEnd()
    await far.start()
    answering = asyncio.create_task(_answer_shared(far))
    try:
        return await _timed(make_link(far.address))
    finally:
        answering.cancel()
        await far.stop()


async def _answer_shared(far: FakeSharedFarEnd) -> None:
    while True:
        await far.hear(len(COMMAND))
        await far.say(REPLY)


async def _timed(link: Link) -> tuple[float, float, float, float]:
    started_s = time.perf_counter()
    await link.open(115200)
    opening_s = time.perf_counter() - started_s
    await _round_trip(link)
    count, end_s = 0, time.perf_counter() + SECONDS_EACH
    while time.perf_counter() < end_s:
        await _round_trip(link)
        count += 1
    closing_s, gap_s = await _closing(link)
    return count / SECONDS_EACH, opening_s, closing_s, gap_s


async def _round_trip(link: Link) -> None:
    await link.send(COMMAND)
    missing = len(REPLY)
    while missing:
        piece = await link.receive(10)
        if not piece:
            raise SystemExit(f"{link.name} does not answer.")
        missing -= len(piece)


async def _closing(link: Link) -> tuple[float, float]:
    """How long closing takes, and the longest time for which the loop did nothing else meanwhile."""
    started_s = last_s = time.perf_counter()
    longest_s = 0.0
    closing = asyncio.create_task(link.close())
    while not closing.done():
        await asyncio.sleep(0)
        now_s = time.perf_counter()
        longest_s, last_s = max(longest_s, now_s - last_s), now_s
    return time.perf_counter() - started_s, longest_s


if __name__ == "__main__":
    main()
