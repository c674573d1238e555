"""What simulated printers cost: processor while nobody asks, memory, and processor for an answer, alone and in a fleet.

Usage: python scripts/benchmarks/simulator.py [--printers 100] [--seconds 20] [--exchanges 40]

Every process is a real one on real pseudo-terminals, opened and left in peace first, then asked for its switches. The
baseline is a bare process that answers the same bytes from a loop of system calls. Processor times are those the
system kept for the simulating process alone, so what else runs on the machine changes little; Linux only.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import subprocess
import sys
import tempfile
import termios
import time
import tty
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
QUESTION, ENDING = b"M119\n", b"ok\n"
BARE = """
import os, select, sys, tty
reply, count, folder = bytes.fromhex(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
ends, far_ends = [], []
for number in range(1, count + 1):
    near, far = os.openpty()
    tty.setraw(far)
    os.symlink(os.ttyname(far), f"{folder}/port-{number}")
    ends.append(near)
    far_ends.append(far)
poll = select.poll()
for end in ends:
    poll.register(end, select.POLLIN)
print("ready", flush=True)
while True:
    for end, _ in poll.poll():
        for _ in range(os.read(end, 4096).count(b"\\n")):
            os.write(end, reply)
"""
BOOT_S = 4.0
PATIENCE_S = 60.0


@dataclass(frozen=True)
class Cost:
    """What was measured of one process.

    Attributes:
        idle_share: of one core, with every port open and nobody asking.
        resident_kib: memory after the answers.
        second_per_1000: processor seconds for a thousand answers.
        reply: one answer.
    """

    idle_share: float
    resident_kib: int
    second_per_1000: float
    reply: bytes


def main() -> None:
    """Measure a bare process, one printer and a fleet, and print what they cost beside each other."""
    options = _options()
    one = _measured(1, options, "sound")
    fleet = _measured(options.printers, options, "sound")
    bare = _measured(options.printers, options, "", one.reply)
    fleet_memory = (fleet.resident_kib - one.resident_kib) / max(1, options.printers - 1)
    print(f"the answer has {len(one.reply)} bytes; the host asks all of them, hears all of them, and asks again")
    print(f"{'':28}{'idle, of a core':>17}{'memory':>12}{'1000 answers':>15}{'against bare':>14}")
    for name, cost in (
        ("one printer", one),
        (f"{options.printers} printers", fleet),
        (f"{options.printers} bare", bare),
    ):
        ratio = cost.second_per_1000 / bare.second_per_1000
        memory, answers = f"{cost.resident_kib} KiB", f"{cost.second_per_1000:.3f} s"
        print(f"{name:28}{100 * cost.idle_share:15.3f} %{memory:>12}{answers:>15}{ratio:14.1f}")
    print(f"a further printer in the process takes {fleet_memory:.0f} KiB")
    print(f"an answer in the fleet costs {fleet.second_per_1000 / one.second_per_1000:.2f} of one alone")


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--printers", type=int, default=100, help="how many in the fleet")
    parser.add_argument("--seconds", type=float, default=20.0, help="how long each is left in peace")
    parser.add_argument("--exchanges", type=int, default=40, help="answers of each printer; a single one gives more")
    parser.add_argument("--unpaced", action="store_true", help="bytes need no time on the line")
    options: argparse.Namespace = parser.parse_args()
    return options


def _measured(count: int, options: argparse.Namespace, unit: str, reply: bytes = b"") -> Cost:
    with tempfile.TemporaryDirectory() as folder, contextlib.ExitStack() as stack:
        paced = "false" if options.unpaced else "true"
        command = _fleet(folder, count, unit, paced=paced) if unit else _bare(folder, count, reply)
        process = stack.enter_context(_running(command))
        ports = [_opened(f"{folder}/port-{n}") for n in range(1, count + 1)]
        for port in ports:
            stack.callback(os.close, port)
        time.sleep(BOOT_S)
        for port in ports:
            _empty(port)
        began_s, busy_s = time.monotonic(), _processor_s(process.pid)
        time.sleep(options.seconds)
        idle = (_processor_s(process.pid) - busy_s) / (time.monotonic() - began_s)
        rounds = max(options.exchanges, 1000 // count)
        busy_s = _processor_s(process.pid)
        for _ in range(rounds):
            answer = _asked(ports)
        each_s = (_processor_s(process.pid) - busy_s) / (rounds * count)
        return Cost(idle, _resident_kib(process.pid), 1000 * each_s, answer)


def _opened(path: str) -> int:
    port = os.open(path, os.O_RDWR | os.O_NOCTTY)
    tty.setraw(port)
    modes = termios.tcgetattr(port)
    modes[4] = modes[5] = termios.B115200
    termios.tcsetattr(port, termios.TCSANOW, modes)
    return port


def _asked(ports: list[int]) -> bytes:
    """Ask every printer, then hear every answer; returns the last."""
    for port in ports:
        os.write(port, QUESTION)
    heard = b""
    for port in ports:
        heard, end_s = b"", time.monotonic() + PATIENCE_S
        while not heard.endswith(ENDING):
            heard += os.read(port, 4096)
            if time.monotonic() > end_s:
                raise SystemExit(f"A printer does not answer: {heard!r}")
    return heard


def _empty(port: int) -> None:
    os.set_blocking(port, False)
    with contextlib.suppress(BlockingIOError):
        while os.read(port, 4096):
            pass
    os.set_blocking(port, True)


def _fleet(folder: str, count: int, unit: str, *, paced: str) -> list[str]:
    file = Path(folder) / "fleet.toml"
    keys = (
        f'unit = "{unit}"\nname = "bench-{{n}}"\nport = "pty:{folder}/port-{{n}}"\ncount = {count}\npaced = {paced}\n'
    )
    file.write_text(f"format = 1\n[[units]]\n{keys}")
    return [sys.executable, "-m", "fake_printer", "--fleet", str(file), "--control", "0", "--stop-with-stdin"]


def _bare(folder: str, count: int, reply: bytes) -> list[str]:
    return [sys.executable, "-c", BARE, reply.hex(), str(count), folder]


@contextlib.contextmanager
def _running(command: list[str]) -> Iterator[subprocess.Popen[str]]:
    pipe = subprocess.PIPE
    with subprocess.Popen(command, stdin=pipe, stdout=pipe, text=True, cwd=ROOT) as process:
        for line in process.stdout or ():
            if line.strip() == "ready":
                break
        try:
            yield process
        finally:
            process.kill()


def _processor_s(process: int) -> float:
    return int(Path(f"/proc/{process}/schedstat").read_text().split()[0]) / 1e9


def _resident_kib(process: int) -> int:
    return int(Path(f"/proc/{process}/status").read_text().partition("VmRSS:")[2].split()[0])


if __name__ == "__main__":
    main()
