"""The simulated printer as a process: `python -m fake_printer UNIT`, or many of them: `--fleet FILE`.

It prints `link:` and where the port is, `control:` and where the hands are reached if asked for, then `ready`. Of a
fleet each printer has such lines, with its name: `link NAME:`. It ends when it is told to stop, by the bench, by a
signal or, on request, by the end of its standard input.
"""

import argparse
import signal
import sys
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path

from fake_printer.bench import help_text, in_words
from fake_printer.fleet import Fleet, fleet_words
from fake_printer.memory_file import MemoryFileError
from fake_printer.profile import ProfileError, load_profile, profile_names
from fake_printer.setups import FleetError, Setup, load_fleet
from fake_printer.standard_input import StandardInput
from fake_printer.wire.base import WireError

_DONE, _REFUSED = 0, 2
_OF_ONE = ("pty", "tcp", "rfc2217", "unpaced", "speed_factor", "stepped", "seed", "state_file", "log")
"""Options of one printer; of a fleet they stand in its file."""


def main(arguments: Sequence[str]) -> int:
    """Run the process that the arguments ask for and return its exit code."""
    parser = _parser()
    options = parser.parse_args(arguments)
    if not options.list and (options.unit is None) == (options.fleet is None):
        parser.error("say which unit to simulate, or which fleet; --list shows the units")
    if options.fleet and any(getattr(options, each) != parser.get_default(each) for each in _OF_ONE):
        parser.error(f"of a fleet, {', '.join(each.replace('_', '-') for each in _OF_ONE)} stand in its file")
    try:
        if options.list:
            return _list_units()
        with ExitStack() as stack:
            _Process(options, stack).run()
    except (WireError, ProfileError, FleetError, MemoryFileError, OSError, ValueError) as error:
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
    parser.add_argument("--fleet", metavar="FILE", type=Path, help="simulate all the printers this file describes")
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
    parser.add_argument("--stepped", action="store_true", help="time passes only as the bench says: pass SECONDS")
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
        self._one = options.fleet is None
        self._fleet = Fleet([_setup(options)] if self._one else load_fleet(options.fleet), stack)
        self._address = self._fleet.listen(options.control) if not self._one and options.control is not None else ""
        self._console = options.console
        if options.stop_with_stdin or options.console:
            self._input = StandardInput(self._fleet.hear(self._hear).ring)

    def run(self) -> None:
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._stop)
        self._introduce()
        self._fleet.run()

    def _stop(self, number: int, frame: object) -> None:
        del number, frame
        self._fleet.stop()

    def _introduce(self) -> None:
        for name, station in self._fleet.stations.items():
            of_whom = "" if self._one else f" {name}"
            _say(f"link{of_whom}: {station.link}")
            if name in self._fleet.controls:
                _say(f"control{of_whom}: {self._fleet.controls[name].address}")
        if self._address:
            _say(f"control: {self._address}")
        _say("ready")
        if self._console:
            _say(self._help())
            self._prompt()

    def _help(self) -> str:
        if self._one:
            return help_text()
        width = max(map(len, fleet_words()))
        return "\n".join(f"  {word:<{width}}  {meaning}" for word, meaning in fleet_words().items())

    def _hear(self) -> None:
        for typed in self._input.take():
            text = "stop" if typed == "quit" else typed  # as a console in another terminal is left
            if not self._console:
                continue
            if text == "help":
                _say(self._help())
            elif text:
                _say(in_words(self._answer(text)))
            self._prompt()
        if self._input.ended:
            self._fleet.stop()

    def _answer(self, text: str) -> str:
        bench = next(iter(self._fleet.stations.values()), None) if self._one else None
        return (bench or self._fleet).answer(text)

    def _prompt(self) -> None:
        sys.stdout.write("hands> ")
        sys.stdout.flush()


def _setup(options: argparse.Namespace) -> Setup:
    return Setup(
        unit=options.unit,
        name=options.unit,
        port=_port(options),
        control=options.control,
        seed=options.seed,
        paced=not options.unpaced,
        speed_factor=options.speed_factor,
        stepped=options.stepped,
        state_file=str(options.state_file or ""),
        log=str(options.log or ""),
    )


def _port(options: argparse.Namespace) -> str:
    if options.tcp is not None:
        return f"tcp:{options.tcp}"
    if options.rfc2217 is not None:
        return f"rfc2217:{options.rfc2217}"
    return f"pty:{options.pty}" if options.pty else "pty"


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
