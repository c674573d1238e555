"""One scenario's bench: printers outside the emulated PC, adapters between them, and the tool's commands inside."""

from __future__ import annotations

import contextlib
import json
import shlex
import shutil
import threading
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from scripts.usb_lab_parts.monitor import Refused
from scripts.usb_lab_parts.pc import Command, Pc, Said
from scripts.usb_lab_parts.printer import Printer, running

TOOL = "python3 -m commission"
FIRST, SECOND = "/dev/ttyUSB0", "/dev/ttyUSB1"
FIRST_ADAPTER = "first"
"""The adapter whose cable the words `usb out` and `usb in` mean."""

FIRST_SERIAL, OTHER_SERIAL = "LAB0001", "LAB0002"
THERE_WITHIN_S, RELEASED_WITHIN_S = 30.0, 90.0


@dataclass
class Adapter:
    """A USB serial adapter with a printer at its other end.

    Attributes:
        name: for the hands.
        serial_number: what it announces.
        place: the socket of the USB host.
        printer: at its other end.
        plugged: whether it is plugged in.
    """

    name: str
    serial_number: str
    place: str
    printer: Printer
    plugged: bool = False


@dataclass
class Lab:
    """A scenario's surroundings.

    Attributes:
        pc: the emulated PC.
        python: the environment's interpreter, for the simulated printers and for looking into fetched books.
        project: the root of the tree.
        folder: where the scenario's folder is kept on this machine when it has ended.
        work: the scenario's own folder on the emulated PC.
        adapters: those of the scenario, by name.
        released: set when hands that wait for a release may go on.
    """

    pc: Pc
    python: Path
    project: Path
    folder: Path
    work: str
    adapters: dict[str, Adapter] = field(default_factory=dict)
    released: threading.Event = field(default_factory=threading.Event)

    @contextlib.contextmanager
    def adapter(
        self, name: str, unit: str, serial_number: str, place: str, *, plugged: bool = True
    ) -> Iterator[Adapter]:
        """An adapter with a simulated printer, for the length of a `with` block; plugged in at once, or not yet."""
        with running(self.python, self.project, unit) as printer:
            adapter = self.adapters[name] = Adapter(name, serial_number, place, printer)
            self.pc.deed = self._deed
            try:
                if plugged:
                    self.plug(adapter)
                yield adapter
            finally:
                self.unplug(adapter)
                self.pc.forget(name)
                del self.adapters[name]

    @contextlib.contextmanager
    def first(self) -> Iterator[Adapter]:
        """The first adapter, at a sound printer, for the length of a `with` block; its port is there."""
        with self.adapter(FIRST_ADAPTER, "sound", FIRST_SERIAL, "1") as adapter:
            self.wait_for(FIRST)
            yield adapter

    def plug(self, adapter: Adapter) -> None:
        """Plug it in."""
        if not adapter.plugged:
            self.pc.plug(adapter.name, adapter.printer.port, adapter.serial_number, adapter.place)
            adapter.plugged = True

    def unplug(self, adapter: Adapter) -> None:
        """Pull it out of the PC."""
        if adapter.plugged:
            self.pc.pull(adapter.name)
            adapter.plugged = False

    def pull_cable(self) -> None:
        """Pull the cable of the first adapter, at both of its ends as it were: the board loses that supply too."""
        first = self.adapters[FIRST_ADAPTER]
        self.unplug(first)
        _accepted(first.printer.ask("usb out"))

    def put_back(self) -> None:
        """Plug the cable of the first adapter in again."""
        first = self.adapters[FIRST_ADAPTER]
        _accepted(first.printer.ask("usb in"))
        self.plug(first)

    def wait_for(self, *devices: str) -> None:
        """Wait until the emulated PC has these ports."""
        there = " && ".join(f"[ -e {device} ]" for device in devices)
        self.pc.run(f"until {there}; do sleep 0.1; done", THERE_WITHIN_S)

    def drain(self, device: str) -> None:
        """Have what a printer said by itself read by another program, which leaves the port without an echo.

        The kernel echoes whatever comes between the opening of a port and its setting to raw: a start-up text that
        waits in the chip goes back to the printer, whatever program opens the port first. An end of line keeps what
        came back from being the beginning of the next command.
        """
        self.pc.run(f"stty -F {device} raw -echo; echo >{device}; timeout 2 cat {device} >/dev/null; true")

    def wait_until_gone(self, device: str) -> None:
        """Wait until the emulated PC has that port no more."""
        self.pc.run(f"while [ -e {device} ]; do sleep 0.1; done", THERE_WITHIN_S)

    def start(self, words: str) -> Command:
        """Start a command of the tool in the scenario's folder, with its book."""
        reports = "" if words.startswith(("ports", "book")) else "--reports ."
        book = "" if words.startswith("ports") else "--book book.sqlite3"
        return self.pc.start(f"mkdir -p {self.work} && cd {self.work} && {TOOL} {words} {book} {reports}")

    def tool(self, words: str, within_s: float = 180.0) -> Said:
        """Run a command of the tool to its end."""
        return self.start(words).wait(within_s)

    def ports(self) -> list[Mapping[str, Any]]:
        """What the tool says of the ports."""
        listed: list[Mapping[str, Any]] = json.loads(self.tool("ports --json").out)
        return listed

    def script(self, name: str, text: str) -> str:
        """Put an operator's script into the scenario's folder and return the options that use it."""
        path = f"{self.work}/{name}.toml"
        self.pc.run(f"mkdir -p {self.work} && printf '%s' {shlex.quote(text)} > {path}")
        return f"--operator {path} --by 'R. Okafor' --site workshop"

    def fetch(self) -> Path:
        """Bring the scenario's folder from the emulated PC here: its book, reports and settings files."""
        kept = self.pc.exchange / "kept"
        self.pc.run(f"cp -r {self.work} /lab/exchange/kept/")
        fetched = self.folder / Path(self.work).name
        shutil.copytree(kept / fetched.name, fetched, dirs_exist_ok=True)
        return fetched

    def _deed(self, words: str) -> str:
        """What a script on the emulated PC asks for; `usb out` and `usb in` are the cable of the first adapter."""
        match words.split():
            case ["usb", "out"]:
                self.pull_cable()
            case ["usb", "in"]:
                self.put_back()
            case ["wait", device]:
                self.wait_for(device)
            case ["wait-for-release"]:
                self.pc.until(self.released.is_set, "the release", RELEASED_WITHIN_S)
            case ["plug", name]:
                self.plug(self.adapters[name])
            case _:
                return _accepted(self.adapters[FIRST_ADAPTER].printer.ask(words))
        return f"done: {words}"


def _accepted(answer: str) -> str:
    kind, _, sentence = answer.partition(" ")
    if kind != "ok":
        raise Refused(sentence)
    return sentence
