"""Any number of simulated printers in one process: who they are, the bench that reaches each, and their life."""

import dataclasses
import functools
import json
import os
import tempfile
import time
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path

from fake_printer.memory_file import MemoryFile, MemoryFileError
from fake_printer.printer import Printer
from fake_printer.profile import ProfileError, load_profile
from fake_printer.scheduler import Bell, Scheduler
from fake_printer.setups import FleetError, Port, Setup
from fake_printer.specs import Profile
from fake_printer.station import Parts, Station
from fake_printer.stepped import SteppedClock, SteppedStation
from fake_printer.wire.base import Wire, WireError
from fake_printer.wire.line import Line, LineOptions
from fake_printer.wire.network import Rfc2217Port, TcpPort
from fake_printer.wire.traffic import TrafficLog
from fake_printer.workbench import Answering, ControlSocket, help_lines

_OWN_DIGITS = 6
"""So many last digits of a unique number tell several alike apart."""
_WHY_NOT = (WireError, ProfileError, MemoryFileError, OSError, ValueError)


class Fleet:
    """The printers of one process. What it opens is closed by the stack it is given.

    Attributes:
        stations: the printers that have not ended, by name.
        controls: the control socket of each that has one, by name.
        stop_asked: whether all of it is to end.
    """

    def __init__(self, setups: list[Setup], stack: ExitStack) -> None:
        """Set all of them up.

        Raises:
            ProfileError, MemoryFileError, WireError, OSError, ValueError: a single one cannot be set up.
            FleetError: one of several cannot; it is named.
        """
        self._stack = stack
        self._clock = time.monotonic
        self._scheduler = Scheduler(self._clock)
        self._load = functools.cache(load_profile)
        self.stations: dict[str, Station] = {}
        self.controls: dict[str, ControlSocket] = {}
        self.stop_asked = False
        self._leaving: list[Station] = []
        stack.callback(self._scheduler.close)
        self._bell = self.hear(lambda: None)
        for setup in setups:
            try:
                self._set_up(setup)
            except _WHY_NOT as error:
                if len(setups) == 1:
                    raise
                raise FleetError(f"{setup.name}: {error}") from error

    def run(self) -> None:
        """Let them live until the last has ended or `stop` is called."""
        self._scheduler.run(self._ended)

    def stop(self) -> None:
        """End all of it; may be called by a signal."""
        self.stop_asked = True
        self._bell.ring()

    def listen(self, port: int) -> str:
        """Have a control socket that reaches every printer by its name; returns its address."""
        return self._control(self, port).address

    def hear(self, heard: Callable[[], None]) -> Bell:
        """A bell; when it is rung, from another thread perhaps, `heard` is called in turn with the printers."""
        bell = Bell(heard)
        self._stack.callback(bell.close)
        self._scheduler.add(bell)
        return bell

    def answer(self, line: str) -> str:
        """Do what a line says that begins with a printer's name, or with a word of the fleet's own."""
        name, _, rest = line.strip().partition(" ")
        if name in self.stations:
            return self.stations[name].answer(rest)
        if name == "units":
            return json.dumps([self._described(each) for each in self.stations])
        if name == "stop":
            self.stop()
            return "ok The simulated printers end."
        if name == "help":
            return "ok " + "; ".join(f"{word}: {meaning}" for word, meaning in fleet_words().items())
        return f"error No printer is called {name!a}. Say first whom you mean; 'units' lists them."

    def _described(self, name: str) -> dict[str, str]:
        control = self.controls.get(name)
        link = self.stations[name].link
        return {"name": name, "link": link, **({"control": control.address} if control else {})}

    def _touched(self, station: Station) -> None:
        if station.stop_asked:
            self._leaving.append(station)  # once its answer has been given
        self._scheduler.wake(station)

    def _ended(self) -> bool:
        while self._leaving:
            self._take_down(self._leaving.pop())
        return self.stop_asked or not self.stations

    def _take_down(self, station: Station) -> None:
        if self.stations.pop(station.name, None) is None:
            return
        for part in (station, self.controls.pop(station.name, None)):
            if part is not None:
                self._scheduler.remove(part)
                part.close()

    def _set_up(self, setup: Setup) -> None:
        profile = _one_of_several(self._load(setup.unit), setup.number)
        memory_file = MemoryFile(Path(setup.state_file)) if setup.state_file else None
        printer = Printer(profile, seed=setup.seed, memory=memory_file.found if memory_file else None)
        if memory_file:
            memory_file.keep(printer.memory)
        clock = SteppedClock() if setup.stepped else self._clock
        line = Line(
            printer,
            _wire(Port.parse(setup.port), profile, self._stack),
            profile.wire,
            LineOptions(setup.paced, setup.speed_factor, setup.seed),
            now_s=clock(),
            watcher=_traffic_log(Path(setup.log), self._stack, clock) if setup.log else None,
        )
        station = self._station(setup.name, Parts(printer, line, memory_file), clock)
        self._stack.callback(station.close)
        self.stations[setup.name] = station
        self._scheduler.add(station)
        if setup.control is not None:
            self.controls[setup.name] = self._control(station, setup.control)

    def _station(self, name: str, parts: Parts, clock: Callable[[], float]) -> Station:
        if isinstance(clock, SteppedClock):
            return SteppedStation(name, parts, self._touched, clock)
        return Station(name, parts, self._touched, clock)

    def _control(self, bench: Answering, port: int) -> ControlSocket:
        control = ControlSocket(bench, port)
        self._stack.callback(control.close)
        self._scheduler.add(control)
        return control


def fleet_words() -> dict[str, str]:
    """What a fleet's bench understands, with its meaning."""
    return {
        "units": "every printer with its link, as one line of JSON",
        "stop": "end all of them",
        **{f"NAME {word}": meaning for word, meaning in help_lines().items()},
    }


def _one_of_several(profile: Profile, number: int) -> Profile:
    """The unit as the printer of that number has it: no two boards have the same unique number."""
    spec = profile.firmware
    if number == 1 or not spec.uuid:
        return profile
    own = f"{spec.uuid[:-_OWN_DIGITS]}{number:0{_OWN_DIGITS}x}"
    return dataclasses.replace(profile, firmware=dataclasses.replace(spec, uuid=own))


def _wire(port: Port, profile: Profile, stack: ExitStack) -> Wire:
    if port.kind == "tcp":
        return TcpPort(port.number)
    if port.kind == "rfc2217":
        return Rfc2217Port(port.number, profile.wire.speed_baud)
    if os.name == "nt":
        raise WireError("This system has no pseudo-terminals. Use a tcp or an rfc2217 port instead.")
    from fake_printer.wire.pseudo_terminal import PseudoTerminal  # not to be had on every system

    folder = Path(port.where) if port.where else Path(stack.enter_context(_temporary_folder())) / "port"
    return PseudoTerminal(folder)


def _temporary_folder() -> tempfile.TemporaryDirectory[str]:
    return tempfile.TemporaryDirectory(prefix="fake-printer-")


def _traffic_log(path: Path, stack: ExitStack, clock: Callable[[], float]) -> TrafficLog:
    file = stack.enter_context(path.open("w", encoding="utf-8"))
    log = TrafficLog(file, started_s=clock())
    stack.callback(lambda: log.finish(clock()))
    return log
