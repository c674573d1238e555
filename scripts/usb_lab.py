"""Try the tool over a real kernel's USB serial driver, on an emulated PC, with a simulated printer outside.

Usage: python3 scripts/usb_lab.py [SCENARIO ...] [--list] [--short] [--timeout S] [--keep FOLDER]

No USB hardware is needed: the emulator has a USB serial chip of its own, and Debian's kernel drives it as it drives a
real one. What a pseudo-terminal cannot show is seen here: names and serial numbers as a kernel gives them, exclusive
use, odd speeds, a port that vanishes and comes back under another name, two adapters at once.

The emulated PC has no network and sees four folders of this machine. It can write to one of them:

    /usr/lib/python3.N   the standard library of the Python behind the environment          read only
    /lab/packages        the environment's packages                                         read only
    /lab/project         a copy of commission/, compiled                                    read only
    /lab/exchange        a temporary folder: commands go in, output and books come out      writable

The interpreter and the system libraries that it loads are copied into the ramdisk, with busybox and the drivers. The
simulated printers run on this machine, on loopback ports.

The limits are of the time in which the emulated PC could run: on a busy machine it takes longer and says the same.

Exit code 0 when everything held, 1 when something did not or took too long, 2 wrong usage, 3 when this machine lacks
what the emulated PC is made of; the packages to install are named.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from scripts._environment import ROOT, ready
from scripts.usb_lab_parts.check import Check
from scripts.usb_lab_parts.lab import Lab
from scripts.usb_lab_parts.monitor import Refused
from scripts.usb_lab_parts.needs import Missing, Needs, found_needs
from scripts.usb_lab_parts.pc import TooSlow, running_pc, shares_of
from scripts.usb_lab_parts.printer import NotStarted
from scripts.usb_lab_parts.python_here import python_here
from scripts.usb_lab_parts.scenarios import SCENARIOS, Scenario
from scripts.usb_lab_parts.table import Played, lines

HELD, OFF, LACKS = 0, 1, 3
BREAKS_OFF = (TooSlow, Refused, NotStarted, OSError, subprocess.SubprocessError, LookupError, ValueError)
"""What ends one scenario and not the others: also a port that is not listed and an answer that is no JSON."""


def main(arguments: Sequence[str]) -> int:
    """Play the scenarios that are asked for; the exit code is returned."""
    options = _options(arguments)
    if options.list:
        print("\n".join(map(_listed, SCENARIOS.values())))
        return HELD
    usual = [each for each in SCENARIOS.values() if not each.fault and (each.short or not options.short)]
    wanted = [SCENARIOS[name] for name in options.scenario] or usual
    try:
        played = _play(wanted, found_needs(), time.monotonic() + options.timeout, options.keep)
    except Missing as missing:
        print(f"Skipped. {missing}", file=sys.stderr)
        return LACKS
    print("\n".join(lines(played)))
    return HELD if all(each.held for each in played) else OFF


def _listed(scenario: Scenario) -> str:
    known = f" (only by name; known fault: {scenario.fault})" if scenario.fault else ""
    return f"{scenario.name:<20} {'short' if scenario.short else 'long':<6} {scenario.about}{known}"


def _options(arguments: Sequence[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="The tool over a real kernel's USB serial driver.")
    parser.add_argument("scenario", nargs="*", metavar="SCENARIO", help="those without a known fault unless given")
    parser.add_argument("--list", action="store_true", help="list the scenarios and end")
    parser.add_argument("--short", action="store_true", help="only those that take a minute each")
    parser.add_argument("--timeout", type=float, default=1800.0, metavar="S", help="seconds for everything (1800)")
    parser.add_argument("--keep", type=Path, metavar="FOLDER", help="keep output and books in this folder")
    options = parser.parse_args(arguments)
    unknown = [name for name in options.scenario if name not in SCENARIOS]
    if unknown:
        parser.error(f"no such scenario: {', '.join(unknown)}; --list names them")
    return options


def _play(wanted: Sequence[Scenario], needs: Needs, end_s: float, keep: Path | None) -> list[Played]:
    """Boot once and play one scenario after the other; what could not be played has not held."""
    python = ready()
    here = python_here(python)
    with tempfile.TemporaryDirectory(prefix="usb-lab-") as place:
        folder = Path(place)
        shares = shares_of(ROOT, here, folder)
        compiling = [
            str(python),
            "-m",
            "compileall",
            "-q",
            "--invalidation-mode",
            "unchecked-hash",
            f"{folder}/project",
        ]
        subprocess.run(compiling, check=True)
        kept = keep or folder / "kept"
        kept.mkdir(parents=True, exist_ok=True)
        played: list[Played] = []
        try:
            with running_pc(needs, here, shares, folder, end_s) as pc:
                print(f"The emulated PC has started in {pc.boot_s:.0f} s.", flush=True)
                played += (
                    _played(scenario, Lab(pc, python, ROOT, kept, f"/lab/work/{scenario.name}")) for scenario in wanted
                )
        except TooSlow as slow:
            print(slow, file=sys.stderr)
        left = wanted[len(played) :]
        return [*played, *(Played(each.name, [], 0.0, "not played") for each in left)]


def _played(scenario: Scenario, lab: Lab) -> Played:
    print(f"== {scenario.name}", flush=True)
    began_s = time.monotonic()
    checks: list[Check] = []
    why = ""
    try:
        for check in scenario.play(lab):
            checks.append(check)
            print(f"   {'held' if check.held else 'OFF '}  {check.what}", flush=True)
    except BREAKS_OFF as error:
        why = f"{type(error).__name__}: {error}"
        print(f"   broken off: {why}", file=sys.stderr, flush=True)
    return Played(scenario.name, checks, time.monotonic() - began_s, why)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
