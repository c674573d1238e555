"""The simulated printer as a process: `python -m fake_printer UNIT`.

It prints `link:` and where the port is, `control:` and where the hands are reached if asked for, then `ready`. It ends
when it is told to stop, by the bench, by a signal or, on request, by the end of its standard input.
"""

import argparse
import os
import select
import signal
import sys
import tempfile
import time
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path

from fake_printer.bench import help_text, in_words
from fake_printer.memory_file import MemoryFile, MemoryFileError
from fake_printer.printer import Printer
from fake_printer.profile import Profile, ProfileError, load_profile, profile_names
from fake_printer.standard_input import StandardInput
from fake_printer.wire.base import Wire, WireError
from fake_printer.wire.line import Line, LineOptions
from fake_printer.wire.network import Rfc2217Port, TcpPort
from fake_printer.wire.traffic import TrafficLog
from fake_printer.workbench import Bench, ControlSocket

_DONE, _REFUSED = 0, 2


def main(arguments: Sequence[str]) -> int:
    """Run the process that the arguments ask for and return its exit code."""
    parser = _parser()
    options = parser.parse_args(arguments)
    if not options.list and options.unit is None:
        parser.error("say which unit to simulate; --list shows them all")
    try:
        if options.list:
            return _list_units()
        with ExitStack() as stack:
            _Process(options, stack).run()
    except (WireError, ProfileError, MemoryFileError, OSError, ValueError) as error:
        sys.stderr.write(f"fake_printer: {error}\n")
        return _REFUSED
    return _DONE


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m fake_printer",
        description="A simulated printer with a filament sensor, behind a serial port of its own.",
        epilog="Example: python -m fake_printer sound --pty /tmp/port --console",
    )
    parser.add_argument("unit", nargs="?", metavar="UNIT", help="name of a unit, or a file that describes one")
    parser.add_argument("--list", action="store_true", help="list the units and end")
    link = parser.add_mutually_exclusive_group()
    link.add_argument(
        "--pty", metavar="PATH", type=Path, help="pseudo-terminal under this name (default: a chosen one)"
    )
    link.add_argument("--tcp", metavar="PORT", type=int, help="raw loopback socket; 0 has a port chosen")
    link.add_argument("--rfc2217", metavar="PORT", type=int, help="loopback serial port server; 0 has a port chosen")
    parser.add_argument("--control", metavar="PORT", type=int, help="control socket for the hands; 0 has a port chosen")
    parser.add_argument("--console", action="store_true", help="be the hands at this terminal")
    parser.add_argument("--speed-factor", metavar="X", type=float, default=1.0, help="simulated seconds to a real one")
    parser.add_argument("--unpaced", action="store_true", help="bytes need no time on the line")
    parser.add_argument("--seed", metavar="N", type=int, default=0, help="where chance begins (default 0)")
    parser.add_argument("--state-file", metavar="FILE", type=Path, help="keep the stored settings here between runs")
    parser.add_argument("--log", metavar="FILE", type=Path, help="write what passes over the line to this file")
    parser.add_argument("--stop-with-stdin", action="store_true", help="end when standard input is closed")
    return parser


def _list_units() -> int:
    names = profile_names()
    width = max(map(len, names), default=0)
    for name in names:
        _say(f"{name:<{width}}  {load_profile(name).summary}")
    return _DONE


def _say(text: str) -> None:
    print(text, flush=True)


class _Process:
    """Everything that runs together; what it opens is closed by the stack."""

    def __init__(self, options: argparse.Namespace, stack: ExitStack) -> None:
        profile = load_profile(options.unit)
        self._memory = MemoryFile(options.state_file) if options.state_file else None
        self._printer = Printer(profile, seed=options.seed, memory=self._memory.found if self._memory else None)
        if self._memory:
            self._memory.keep(self._printer.memory)
        line_options = LineOptions(not options.unpaced, options.speed_factor, options.seed)
        watcher = _traffic_log(options.log, stack) if options.log else None
        self._line = Line(
            self._printer,
            _wire(options, profile, stack),
            profile.wire,
            line_options,
            now_s=time.monotonic(),
            watcher=watcher,
        )
        stack.callback(self._line.close)
        self._bench = Bench(self._printer, self._line.state)
        self._control = ControlSocket(self._bench, options.control) if options.control is not None else None
        if self._control:
            stack.callback(self._control.close)
        self._console = options.console
        self._stop_with_input = options.stop_with_stdin or options.console
        self._input = StandardInput() if self._stop_with_input else None

    def run(self) -> None:
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._stop)
        self._introduce()
        while not self._bench.stop_asked:
            wait_s = self._line.step(time.monotonic())
            if self._control:
                self._control.step()
            self._hear_console()
            if self._memory:
                self._memory.save_changes(self._printer.memory)
            self._sleep(wait_s)

    def _stop(self, number: int, frame: object) -> None:
        del number, frame
        self._bench.stop_asked = True

    def _introduce(self) -> None:
        _say(f"link: {self._line.state()['link']}")
        if self._control:
            _say(f"control: {self._control.address}")
        _say("ready")
        if self._console:
            _say(help_text())
            self._prompt()

    def _hear_console(self) -> None:
        if self._input is None:
            return
        for typed in self._input.take():
            text = "stop" if typed == "quit" else typed  # as a console in another terminal is left
            if not self._console:
                continue
            if text == "help":
                _say(help_text())
            elif text:
                _say(in_words(self._bench.answer(text)))
            self._prompt()
        if self._input.ended:
            self._bench.stop_asked = True

    def _prompt(self) -> None:
        sys.stdout.write("hands> ")
        sys.stdout.flush()

    def _sleep(self, wait_s: float) -> None:
        files = [*self._line.files(), *(self._control.files() if self._control else ())]
        if self._bench.stop_asked or wait_s <= 0:
            return
        if files:
            select.select(files, [], [], wait_s)
        else:
            time.sleep(wait_s)  # one system refuses to wait for nothing


def _wire(options: argparse.Namespace, profile: Profile, stack: ExitStack) -> Wire:
    if options.tcp is not None:
        return TcpPort(options.tcp)
    if options.rfc2217 is not None:
        return Rfc2217Port(options.rfc2217, profile.wire.speed_baud)
    if os.name == "nt":
        raise WireError("This system has no pseudo-terminals. Use --tcp 0 or --rfc2217 0 instead.")
    from fake_printer.wire.pseudo_terminal import PseudoTerminal  # not to be had on every system

    if options.pty is not None:
        return PseudoTerminal(options.pty)
    folder = stack.enter_context(tempfile.TemporaryDirectory(prefix="fake-printer-"))
    return PseudoTerminal(Path(folder) / "port")


def _traffic_log(path: Path, stack: ExitStack) -> TrafficLog:
    file = stack.enter_context(path.open("w", encoding="utf-8"))
    log = TrafficLog(file, started_s=time.monotonic())
    stack.callback(lambda: log.finish(time.monotonic()))
    return log


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
