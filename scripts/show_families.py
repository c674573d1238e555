"""Install every family's sensor by the real command on its simulated units, and print what can be had of each.

Usage: python scripts/show_families.py [--only LETTERS] [--processes 2]

Each cell comes from a run of `commission install` (or `read`, for a print, `commission function`) as a process of its
own, on a simulated printer in another process; time is simulated, so a run takes as long as its work. Nothing of the
tool is replaced. What is expected of each unit stands in this file, worked out from the unit's description by hand, and
each run is held against it: exit code 1 where one came out otherwise.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from commission.clock import SystemClock
from commission.evidence.findings.base import Finding
from commission.evidence.findings.function import Pause
from commission.evidence.findings.gates import PauseTold
from commission.evidence.findings.loop import FailSafeFound, Polarity, SwitchNamed
from commission.evidence.findings.meeting import PrinterIdentity
from commission.evidence.findings.reported import NotReported
from commission.evidence.findings.wiring import PinLooked
from commission.evidence.found import Established
from commission.evidence.runs import RunEnded
from commission.records.book import Book
from tests.support.fake_process import running_printer
from tests.support.stepped_time import stepped

_F = TypeVar("_F", bound=Finding)
MOST_S = 400
"""No run takes as long; one that does is off."""
NC = '[[plant.contacts]]\nbetween = ["signal", "ground"]\nclosed_when = "released"\n'
LOW = '[board.input]\nabsent_level = "low"\n'
JOB = "\n".join(["G91", *["G1 X2 F600"] * 3000])
"""Ten minutes of moves, a fifth of a second each."""
HANDS: Mapping[str, Sequence[tuple[str, ...]]] = {
    "trial.insert": (("insert",),),
    "trial.withdraw": (("withdraw",),),
    "wiggle.ready": (("insert",),),
    "unplug.1": (("unplug", "board"), ("power-cycle", "1")),
    "unplug.2": (("power-cycle", "1"),),
    "unplug.reconnect": (("plug",), ("insert",), ("power-cycle", "1")),
    "still_plugged.insert": (("insert",),),
    "still_plugged.withdraw": (("withdraw",),),
    "pin.in": (("insert",), ("pass", "1")),
    "pin.out": (("withdraw",), ("pass", "1")),
    "pin.power": (("power-cycle", "1"),),
    "pause_watch.begun": (("insert",), ("pass", "2"), ("print-card", "{job}"), ("pass", "15")),
    "pause_watch.stopped": (("withdraw",), ("pass", "20")),
    "pause_watch.goes_on": (("insert",), ("pass", "2"), ("card-goes-on",)),
}


@dataclass(frozen=True)
class Case:
    """One unit that is run, and what must come of it.

    Attributes:
        column: of the table.
        family: the row.
        unit: a unit of the simulated printer; `changed` is added to its description.
        answers: besides yes, by the keys of the questions.
        source: by which the sensor is to be read; empty where none is to be found.
        behaviour, fail_safe: of the loop check; empty where none is judged.
        told: words that the cell must have.
        command: `install` or `function`.
    """

    column: str
    family: str
    unit: str
    source: str = ""
    behaviour: str = ""
    fail_safe: str = ""
    changed: str = ""
    told: str = ""
    command: str = "install"
    answers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Ran:
    """What a run came to: the text of its cell, and what is off about it; empty where nothing is."""

    case: Case
    cell: str
    off: str


def cases() -> Iterator[Case]:
    """Every run, by families."""
    for family, unit, source in (("A", "sound", "filament"), ("B", "family-b", "monitor 0"), ("C", "c-sensor", C)):
        yield Case("sound", family, unit, source, "direct", "fail-safe")
        yield Case("inverted", family, unit, source, "inverted", "fail-safe", NC)
        yield Case("two errors that cancel", family, unit, source, "direct", "fail-danger", NC + LOW)
    yield Case("watching off", "A", "watching-off", "filament", "direct", "fail-safe", told="fail")
    yield Case("watching off", "B", "b-monitor-off", "monitor 0", "direct", "fail-safe", told="'watching' shut")
    yield Case("watching off", "C", "c-dictionary", C, "direct", "fail-safe", told="'watching' open")
    for family, unit, source, told in (
        ("B", "family-b", "monitor 0", "it stopped; Error: Filament error on extruder 0: noFilament; Printing paused"),
        ("B", "b-silent-event", "monitor 0", "fail: it went on"),
        ("C", "c-sensor", C, "conditional pass: it stopped; nothing was said"),
        ("C", "c-says-only", C, "fail: it went on"),
    ):
        stopped = "yes" if "it stopped" in told else "no"
        said = {"pause_watch.stopped": stopped}
        yield Case("pause told", family, unit, source, told=told, command="function", answers=said)
    pin = {"pin.now": "yes", "pin.number": "42", "pin.also": "alone", "pin.power": "released"}
    yield Case("sound", "D", "d-sensor", told="not reported pin 42 follows the filament", answers=pin)
    yield Case("sound", "E", "e-pulses", told="not reported")


C = "sensor spool_left"


def carried_out(case: Case) -> Ran:
    """One run from beginning to end, in a folder of its own."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        unit = folder / "unit.toml"
        head = f'format = 1\nlike = "{case.unit}"\nsummary = "as in the table"\nfinding = "see the table"\n'
        unit.write_text(f"{head}\n{case.changed}", encoding="utf-8")
        (folder / "job.txt").write_text(JOB, encoding="utf-8")
        (folder / "operator.toml").write_text(script(case, folder), encoding="utf-8")
        words = [case.command, "bench-3", "--book", str(folder / "b.sqlite3"), "--plain", "--reports", name]
        words += ["--operator", str(folder / "operator.toml"), "--by", "R. Okafor"]
        words += ["--cycles", "6", "--wiggle", "5"] if case.command == "install" else []
        with running_printer(str(unit), "--unpaced", "--stepped") as printer:
            line = stepped(printer.control, *words, "--port", printer.link, "--set", f"control={printer.control}")
            try:
                done = subprocess.run(line, capture_output=True, text=True, timeout=MOST_S, check=False)
            except subprocess.TimeoutExpired:
                return Ran(case, "not finished", f"not finished in {MOST_S} s")
        return _read(case, folder / "b.sqlite3", done)


def script(case: Case, folder: Path) -> str:
    """What the operator answers, and what the hands do first."""
    yes = dict.fromkeys(HANDS, "yes") | {key: "released" for key in HANDS if key.startswith("unplug.")}
    yes |= {key: "done" for key in HANDS if key.startswith(("trial.", "still_"))}
    given = yes | {"source.name": "spool_left", "walk.repair": "later", "*.now": "no", "pause_watch.now": "yes"}
    given |= dict.fromkeys(("trial.leave", "wiggle", "wiggle.before", "unplugged.*", "start_up"), "done")
    given |= {
        "pull.how": "left_out",
        "pull.direction": "up",
        "pull.logic": "3.3",
        "sign_off.remark": "",
        "*.skip_reason": "not part of the table",
    }
    given |= {"series.since": "nothing", "moving.how": "no", **case.answers}
    said, job = ["format = 1"], str(folder / "job.txt")
    for key, answer in sorted(given.items(), key=lambda each: ("*" in each[0], each[0])):
        deeds = [[job if word == "{job}" else word for word in deed] for deed in HANDS.get(key, ())]
        run = [["{python}", "-m", "fake_printer.bench", "{control}", *deed] for deed in deeds]
        told = str(run).replace("'", '"')
        said.append(f'[[answer]]\nrequest = "{key}"\nanswer = "{answer}"' + (f"\nrun = {told}" if run else ""))
    return "\n\n".join([*said, '[[answer]]\nrequest = "*"\nanswer = "yes"\n'])


def _read(case: Case, book: Path, done: subprocess.CompletedProcess[str]) -> Ran:
    """The cell of a run that came to its end, and what differs from what was expected."""
    with Book(book, SystemClock()) as opened:
        whole = opened.verify() == []
        found = [record.entry.finding for record in opened.records(Established)]
        ends = [record.entry for record in opened.records(RunEnded)]
    verdict = ends[-1].verdict.value if ends else "did not end"
    told = " ".join(_told(found))
    cell = f"{verdict}: {told}" if case.command == "install" else told
    source = newest(found, SwitchNamed)
    polarity, fail_safe = newest(found, Polarity), newest(found, FailSafeFound)
    expected = (case.source, case.behaviour, case.fail_safe) if case.command == "install" else (case.source,)
    came = (
        "" if source is None or source.switch is None else source.switch,
        "" if polarity is None else polarity.behaviour.value,
        "" if fail_safe is None else fail_safe.fail_safe.value,
    )
    off = "" if expected == came[: len(expected)] else f"expected {expected}, found {came[: len(expected)]}"
    off = f"{off}; {ends[-1].why if ends else done.stderr[-300:]}" if off else ""
    off = off or ("" if whole and case.told in f"{verdict}: {told}" else f"{case.told!r} is not in {verdict}: {told}")
    if newest(found, PrinterIdentity) is None:
        off = f"no identity; exit code {done.returncode}: {(done.stdout + done.stderr)[-300:]}"
    return Ran(case, cell, off)


def _told(found: Sequence[Finding]) -> Iterator[str]:
    """What the findings tell of polarity, rest, gates and pause, in a few words."""
    if newest(found, NotReported) is not None:
        yield "not reported"
    pin = newest(found, PinLooked)
    if pin is not None:
        yield f"pin {pin.pin} {'follows' if pin.follows else 'does not follow'} the filament"
    polarity, rests = newest(found, Polarity), newest(found, FailSafeFound)
    if polarity is not None and rests is not None:
        yield f"{polarity.behaviour.value}, unplugged {rests.fail_safe.value}"
    gates = newest(found, PauseTold)
    for gate in () if gates is None else gates.gates:
        if gate.key == "watching":
            yield f"'watching' { ({True: 'open', False: 'shut', None: 'not told'}[gate.told]) }"
    pause = newest(found, Pause)
    if pause is not None:
        said = "; ".join(sign.text.strip() for sign in pause.signs if sign.sign != "a command is acknowledged")
        side = "it stopped" if pause.end == "the head stood still" else "it went on"
        yield f"{pause.verdict.value}: {side}; {said or 'nothing was said'}"


def newest(found: Sequence[Finding], kind: type[_F]) -> _F | None:
    """The last finding of a kind; None where there is none."""
    return next((each for each in reversed(found) if isinstance(each, kind)), None)


def main(arguments: Sequence[str]) -> int:
    """Run every case, print each cell, and say by the exit code whether all came out as expected."""
    parser = argparse.ArgumentParser(description="What can be had of each family, each driven once by the command.")
    parser.add_argument("--only", metavar="LETTERS", default="ABCDE", help="families, as in BC (default: all)")
    parser.add_argument("--column", metavar="WORDS", default="", help="only cells of columns with these words")
    parser.add_argument("--processes", type=int, default=2, help="runs at a time (default 2)")
    options = parser.parse_args(arguments)
    chosen = [each for each in cases() if each.family in options.only and options.column in each.column]
    if not chosen or not 1 <= options.processes <= 16:
        parser.error("no cell is left, or --processes is not 1 to 16")
    with ThreadPoolExecutor(options.processes) as pool:
        ran = []
        for each in pool.map(carried_out, chosen):
            ran.append(each)
            state = "OFF " if each.off else "held"
            print(f"{state} {each.case.family} {each.case.column:24} {each.case.unit:16} {each.cell}", flush=True)
            if each.off:
                print(f"     {each.off}", flush=True)
    return 1 if any(each.off for each in ran) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
