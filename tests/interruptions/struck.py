"""Carries out one case: a simulated printer, the tool at a terminal, somebody who answers, and then the interruption.

The printer, the tool and the terminal are real processes and a real pseudo-terminal. A script answers where the case
says so; else this module types what a person would. In its last phase nobody answers any more: the run stays there.
"""

import json
import os
import sqlite3
import time
import zlib
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from threading import BoundedSemaphore
from typing import Any

from tests.interruptions.cases import Case, Phase
from tests.support.fake_process import FakeProcess, running_printer
from tests.support.tool_at_a_terminal import ToolAtATerminal, tool_at_a_terminal

UNIT = """\
format = 1
like = "sound"
summary = "sound; stays hot while it waits, does not restart when its port is opened"
finding = "it pauses"

[firmware]
homing_s = 0.3
nozzle_rise_c_s = {rise}
nozzle_timeout_s = 100000

[firmware.settings.M412]
S = 1
D = 5

[wire]
reset_on_open = false
"""
WORDS = Path(__file__).parents[2] / "commission" / "records" / "words-1.txt"
RISE_C_S: dict[Phase, float] = {"heating": 3}
"""It heats up for a minute where it is to be met heating, else at once."""
SPEED: dict[Phase, int] = {"hot": 12, "paused": 12}
"""Unloading and purging take half a minute in real time; where moves are to be met they are real ones."""

_BENCH = '["{python}", "-m", "fake_printer.bench", "{control}", '
_STAYS = 600
_SCRIPT = f"""\
format = 1

[[answer]]
request = "pause.ready"
answer = "yes"
times = 1
after_s = %(ready)d
run = {_BENCH}"insert"]

[[answer]]
request = "pause.ready"
answer = "yes"
after_s = {_STAYS}

[[answer]]
request = "pause.cut"
answer = "done"
after_s = %(cut)s
run = {_BENCH}"cut", "10"]

[[answer]]
request = "change.inserted"
answer = "yes"
after_s = %(inserted)d
run = {_BENCH}"insert"]

[[answer]]
request = "make_safe.stop"
answer = "%(release)s"
after_s = 0.4

[[answer]]
request = "*"
answer = "yes"
"""
_STARTING = BoundedSemaphore(2 * (os.cpu_count() or 1))
"""Cases may be carried out side by side; only processes that start need much of the machine."""
CUT_AFTER_S = 3.2
QUESTION = ("Type yes or no", "y or n:")
READY, HEATING, CHANGE, RELEASE = "are you ready?", "°C; now ", "Is new filament in", "Release: emergency stop?"
MOVES = ("Moves begin at once", "q: stop", "Type q to stop")
REACHED_WITHIN_S = 60.0
ENDED_WITHIN_S = 120.0


@dataclass(frozen=True)
class Aftermath:
    """What is left once the tool has ended.

    Attributes:
        code: its exit code. screen: all that was printed; printed_after: since the first press.
        took_s: from the first press to the end.
        state, received: of the printer.
        entries: kind and values of every entry in the book.
    """

    code: int
    screen: str
    printed_after: str
    took_s: float
    state: dict[str, Any]
    received: list[str]
    entries: list[tuple[str, dict[str, Any]]]

    def of_kind(self, kind: str) -> list[dict[str, Any]]:
        """The values of all entries of that kind."""
        return [values for each, values in self.entries if each == kind]


Interrupt = Callable[[Case, ToolAtATerminal, FakeProcess], None]


def press(case: Case, tool: ToolAtATerminal, _printer: FakeProcess) -> None:
    """Interrupt as the case says; the moments are fixed beforehand, whatever the tool does meanwhile."""
    began_s = time.monotonic()
    for number in range(case.presses):
        tool.watch(max(0.0, began_s + number * case.gap_s - time.monotonic()))
        if case.how == "key":
            tool.types(key(case, number))
        else:
            tool.signal(case.how)


def strike(case: Case, folder: Path, interrupt: Interrupt = press) -> Aftermath:
    """Carry the case out in that folder.

    Args:
        case: how the run is led up to its phase, and how it is interrupted.
        folder: for all files.
        interrupt: does something else in place of the presses of the case.

    Raises:
        AssertionError: the phase was never reached, or the tool did not end in time.
    """
    unit = folder / "unit.toml"
    unit.write_text(UNIT.format(rise=RISE_C_S.get(case.phase, 200)))
    speed = ("--speed-factor", str(SPEED.get(case.phase, 1)))
    with ExitStack() as stack:
        with _STARTING:
            printer = stack.enter_context(running_printer(str(unit), "--unpaced", *speed))
            tool = stack.enter_context(tool_at_a_terminal(command(case, printer, folder), folder))
            tool.starts(within_s=REACHED_WITHIN_S)
        if case.desk != "scripted":
            answer(case.phase, tool, printer)
        reach(case.phase, tool)
        tool.watch(case.wait_s)
        before, began_s = len(tool.screen), time.monotonic()
        interrupt(case, tool, printer)
        if case.phase == "paused" and case.desk != "scripted":
            release(tool, before, yes=case.releases)
        code = tool.ended(within_s=ENDED_WITHIN_S)
        took_s = time.monotonic() - began_s
        state, received = printer.state(), printer.received()
    return Aftermath(code, tool.screen, tool.screen[before:], took_s, state, received, entries(folder / "book.sqlite3"))


def command(case: Case, printer: FakeProcess, folder: Path) -> list[str]:
    """The command line of the test."""
    line = ["function", "bench-3", "--port", printer.link, "--homed", "--mode", "warm", "--material", "PLA"]
    line += ["--pauses", "2", "--flow", "20", "--trip-to-gear", "60", "--by", "R. Okafor", "--no-bell"]
    line += ["--book", str(folder / "book.sqlite3"), "--reports", str(folder)]
    if case.desk != "scripted":
        return [*line, "--plain"] if case.desk == "plain" else line
    stays = {"dry": "ready", "moving": "cut", "paused": "inserted"}.get(case.phase)
    waits = {"ready": 0, "cut": CUT_AFTER_S, "inserted": 0} | ({stays: _STAYS} if stays else {})
    script = folder / "operator.toml"
    script.write_text(_SCRIPT % {**waits, "release": "yes" if case.releases else "no"})
    return [*line, "--operator", str(script), "--set", f"control={printer.control}"]


def answer(phase: Phase, tool: ToolAtATerminal, printer: FakeProcess) -> None:
    """Be the person, up to the last question before the phase."""
    at = said(tool, "now?")
    at = said(tool, "Start the warm test?", at)
    if phase == "dry":
        return
    at = said(tool, READY, at, printer)
    if phase not in ("hot", "paused"):
        return
    at = tool.sees(*MOVES, after=at, within_s=REACHED_WITHIN_S)
    tool.watch(CUT_AFTER_S)
    printer.do("cut", "10")
    if phase == "hot":
        said(tool, CHANGE, at, printer)


def said(tool: ToolAtATerminal, question: str, after: int = 0, inserts: FakeProcess | None = None) -> int:
    """Answer a question with a yes once it can be typed, and put filament in before that; where it stood."""
    at = tool.sees(question, after=after, within_s=REACHED_WITHIN_S)
    at = tool.sees(*QUESTION, after=at, within_s=REACHED_WITHIN_S)
    if inserts is not None:
        inserts.do("insert")
        tool.watch(0.4)
    tool.watch(0.1)  # what is typed before the line is open is no answer
    tool.types("y\r" if "y or n:" in tool.screen[at - 10 : at] else "y\n")
    return at


def reach(phase: Phase, tool: ToolAtATerminal) -> None:
    """Wait until the printer does what the phase says."""
    marks: dict[Phase, list[tuple[str, ...]]] = {
        "dry": [(READY,)],
        "heating": [(HEATING,)],
        "moving": [(READY,), MOVES],
        "paused": [(CHANGE,)],
        "hot": [(READY,), (CHANGE,), (READY,)],
    }
    at = 0
    for words in marks[phase]:
        at = tool.sees(*words, after=at, within_s=REACHED_WITHIN_S)


def key(case: Case, number: int) -> str:
    """What is pressed: first what stops a run in that phase, then the stop key and Ctrl-C in turn."""
    stop_key = "q" if case.desk == "drawing" else "q\n"
    if number == 0:
        return stop_key if case.phase == "moving" else "\x03"
    return stop_key if number % 2 else "\x03"


def release(tool: ToolAtATerminal, after: int, *, yes: bool) -> None:
    """Answer the release of the emergency stop, if it is asked for."""
    try:
        at = tool.sees(RELEASE, after=after, within_s=30)
        tool.sees(*QUESTION, after=at, within_s=10)
    except AssertionError:
        return  # it ended without asking: nobody was there to be asked
    tool.watch(0.5)
    tool.types(("y" if yes else "n") + ("\n" if "Type yes or no" in tool.screen[at:] else "\r"))


def entries(book: Path) -> list[tuple[str, dict[str, Any]]]:
    """What the book holds, read past the tool."""
    if not book.exists():
        return []
    connection = sqlite3.connect(book)
    try:
        rows = connection.execute("SELECT kind, payload FROM entries ORDER BY sequence").fetchall()
    finally:
        connection.close()
    return [(kind, json.loads(_unpacked(payload))["entry"]) for kind, payload in rows]


def _unpacked(payload: str | bytes) -> str:
    """A payload as it was written: packed ones are deflated by the format's list of words (RFC 1950)."""
    if isinstance(payload, str):
        return payload
    return zlib.decompressobj(zdict=WORDS.read_bytes()).decompress(payload).decode()
