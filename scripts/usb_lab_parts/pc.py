"""The emulated PC: started once, it then runs commands, and adapters are plugged into it and pulled out."""

from __future__ import annotations

import contextlib
import itertools
import shutil
import subprocess
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from scripts.usb_lab_parts.clock import Clock
from scripts.usb_lab_parts.monitor import Monitor, Refused
from scripts.usb_lab_parts.needs import Needs
from scripts.usb_lab_parts.python_here import PythonHere
from scripts.usb_lab_parts.ramdisk import Share, make_ramdisk

LOOK_S = 0.05
BOOT_WITHIN_S = 180.0
BUSY = 6.0
"""However busy the machine is, the run ends after so many times its time limit."""
_EXCHANGE = ("to_do", "taken", "out", "err", "ended", "deeds", "kept")
_KERNEL_WORDS = "console=ttyS0 loglevel=4 panic=-1 rdinit=/init"


class TooSlow(Exception):
    """Something did not happen in the time given."""


@dataclass(frozen=True)
class Said:
    """What a command said, and the code it ended with."""

    code: int
    out: str
    err: str


@dataclass(frozen=True)
class Command:
    """A command that was started on the emulated PC."""

    pc: Pc
    name: str

    def said(self) -> str:
        """What it has said so far."""
        out = self.pc.exchange / "out" / self.name
        return out.read_text(encoding="utf-8", errors="replace") if out.exists() else ""

    @property
    def ended(self) -> bool:
        """Whether it has ended."""
        return (self.pc.exchange / "ended" / self.name).exists()

    def wait(self, within_s: float) -> Said:
        """Wait for its end.

        Raises:
            TooSlow: it goes on.
        """
        self.pc.until(lambda: self.ended, f"the end of the command {self.name}", within_s)
        code = int((self.pc.exchange / "ended" / self.name).read_text())
        return Said(code, self.said(), (self.pc.exchange / "err" / self.name).read_text(errors="replace"))


class Pc:
    """One that runs.

    Attributes:
        exchange: the folder of this machine that it may write to.
        boot_s: how long it took to start.
        deed: what is done when a command on it asks for something at the bench; returns the answer.
    """

    def __init__(self, folder: Path, process: subprocess.Popen[bytes], end_s: float) -> None:
        self.exchange = folder / "exchange"
        self.deed: Callable[[str], str] = lambda words: f"not done: nobody is at the bench for {words!r}"
        self.boot_s = 0.0
        self._folder = folder
        self._process = process
        self._end_s = end_s
        self._clock = Clock(Path("/proc", str(process.pid)))
        self._wires: set[str] = set()
        self._numbers = itertools.count(1)
        began_s = time.monotonic()
        self._latest_s = began_s + BUSY * (end_s - began_s)
        self.until((folder / "monitor").exists, "the emulator's monitor", BOOT_WITHIN_S)
        self._monitor = Monitor(folder / "monitor")
        self._version = self._monitor.do("query-version")["qemu"]
        self._one_at_a_time = threading.Lock()
        self.until((self.exchange / "ended" / "boot").exists, "the start of the emulated PC", BOOT_WITHIN_S)
        self.boot_s = time.monotonic() - began_s
        self._over = threading.Event()
        self._hands = threading.Thread(target=self._do_deeds, daemon=True)
        self._hands.start()

    def close(self) -> None:
        """End the listening to the hands, and the monitor."""
        self._over.set()
        self._hands.join()
        self._monitor.close()

    def start(self, command: str) -> Command:
        """Have a shell run a command; what it says is kept."""
        name = f"{next(self._numbers):03}"
        order = self.exchange / "to_do" / f"{name}.part"
        order.write_text(command + "\n", encoding="utf-8")
        order.rename(order.with_suffix(".sh"))
        return Command(self, name)

    def run(self, command: str, within_s: float = 120.0) -> Said:
        """Have a shell run a command and wait for its end."""
        return self.start(command).wait(within_s)

    def until(self, condition: Callable[[], bool], what: str, within_s: float) -> None:
        """Wait for something.

        Raises:
            TooSlow: it does not come in the time given, or in that of the whole run, or the emulator ended. Time in
                which the emulator waits for a processor does not count, until BUSY times the run's limit are over.
        """
        end_s = min(self._clock.s() + within_s, self._end_s)
        while not condition():
            if self._process.poll() is not None:
                raise TooSlow(f"{what}: the emulator has ended. {self._last_words()}")
            if self._clock.s() > end_s or time.monotonic() > self._latest_s:
                raise TooSlow(f"{what}: not in time. {self._last_words()}")
            time.sleep(LOOK_S)

    def plug(self, name: str, port: int, serial_number: str, place: str) -> None:
        """Plug an adapter in; the chip behind it is there as soon as the printer on that TCP port answers.

        Args:
            name: of the adapter, for whoever pulls it out.
            port: the TCP port of the printer at its other end.
            serial_number: what it announces.
            place: the socket of the USB host, `1` to `4`.
        """
        wire = f"wire-{name}"
        with self._one_at_a_time:
            if wire not in self._wires:
                address = {"type": "inet", "data": {"host": "127.0.0.1", "port": str(port)}}
                socket = {"addr": address, "server": False, "nodelay": True, **again_each_second(self._version)}
                self._monitor.do("chardev-add", id=wire, backend={"type": "socket", "data": socket})
                self._wires.add(wire)
            chip = {"id": name, "chardev": wire, "serial": serial_number, "bus": "usb.0", "port": place}
            self._monitor.do("device_add", driver="usb-serial", **chip)

    def pull(self, name: str) -> None:
        """Pull an adapter out; returns once it is gone."""
        with self._one_at_a_time:
            self._monitor.do("device_del", id=name)
            self._monitor.wait_for("DEVICE_DELETED", name)

    def forget(self, name: str) -> None:
        """Throw an adapter's wire away; the adapter is out."""
        with self._one_at_a_time:
            self._monitor.do("chardev-remove", id=f"wire-{name}")
            self._wires.discard(f"wire-{name}")

    def _do_deeds(self) -> None:
        deeds = self.exchange / "deeds"
        while not self._over.wait(LOOK_S):
            for asked in sorted(deeds.glob("*.ask")):
                words = asked.read_text(encoding="utf-8").strip()
                asked.unlink()
                try:
                    answer = self.deed(words)
                except (OSError, Refused, TooSlow, LookupError) as error:
                    answer = f"not done: {error}"
                part = asked.with_suffix(".part")
                part.write_text(answer + "\n", encoding="utf-8")
                part.rename(asked.with_suffix(".answer"))

    def _last_words(self) -> str:
        logs = [self._folder / name for name in ("emulator.log", "console.log")]
        told = [" | ".join(log.read_text(errors="replace").splitlines()[-5:]) for log in logs if log.exists()]
        return f"The emulator and its console said last: {' || '.join(told)}"


def again_each_second(version: Mapping[str, int]) -> dict[str, int]:
    """How the emulator is told to knock again each second; the option got another unit and name in its release 9.2."""
    newer = (version["major"], version["minor"]) >= (9, 2)
    return {"reconnect-ms": 1000} if newer else {"reconnect": 1}


def shares_of(project: Path, python: PythonHere, folder: Path) -> list[Share]:
    """The folders that the emulated PC sees, and no others: all but one of them cannot be written to.

    The tool goes there as a copy that was compiled here, so that the tree stays as it is and nothing is compiled by a
    slow processor again and again.
    """
    copy = folder / "project"
    shutil.copytree(project / "commission", copy / "commission", ignore=shutil.ignore_patterns("__pycache__"))
    for name in _EXCHANGE:
        (folder / "exchange" / name).mkdir(parents=True)
    return [
        Share("python", python.library, f"/usr/lib/{python.version}"),
        Share("packages", python.packages, "/lab/packages"),
        Share("project", copy, "/lab/project"),
        Share("exchange", folder / "exchange", "/lab/exchange", writable=True),
    ]


@contextlib.contextmanager
def running_pc(needs: Needs, python: PythonHere, shares: Sequence[Share], folder: Path, end_s: float) -> Iterator[Pc]:
    """An emulated PC for the length of a `with` block.

    Args:
        needs: what it is made of.
        python: the interpreter that it gets.
        shares: the folders that it sees; see `shares_of`.
        folder: a temporary one.
        end_s: when everything has to be over, by the monotonic clock; what the emulator waits for a processor is added.
    """
    ramdisk = make_ramdisk(needs, python, shares, folder)
    command = _emulator(needs, ramdisk, shares, folder)
    with (
        (folder / "emulator.log").open("wb") as log,
        subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=log, stderr=log) as process,
    ):
        try:
            pc = Pc(folder, process, end_s)
            try:
                yield pc
            finally:
                pc.close()
        finally:
            process.kill()


def _emulator(needs: Needs, ramdisk: Path, shares: Sequence[Share], folder: Path) -> list[str]:
    words = [needs.qemu, "-accel", "tcg", "-cpu", "max", "-m", "1024", "-smp", "1", "-nodefaults", "-nic", "none"]
    words += ["-display", "none", "-no-reboot", "-kernel", str(needs.image), "-initrd", str(ramdisk)]
    words += ["-append", _KERNEL_WORDS, "-serial", f"file:{folder / 'console.log'}", "-device", "qemu-xhci,id=usb"]
    words += ["-qmp", f"unix:{folder / 'monitor'},server=on,wait=off"]
    for share in shares:
        access = "off" if share.writable else "on"
        options = f"path={share.folder},security_model=none,multidevs=remap,readonly={access}"
        words += ["-fsdev", f"local,id={share.tag},{options}"]
        words += ["-device", f"virtio-9p-pci,fsdev={share.tag},mount_tag={share.tag}"]
    return words
