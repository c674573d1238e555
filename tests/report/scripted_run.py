"""Writes runs into a book entry by entry, as a conductor would, on a clock that stands still unless told to move."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from commission.dialect.commands import Effect
from commission.evidence.entry import Entry
from commission.evidence.findings import loop, meeting, wiring
from commission.evidence.findings.base import Finding, Picture
from commission.evidence.measured import TimedReading, Trial, TrialBegan, Watch, WatchBegan
from commission.evidence.runs import (
    Interrupted,
    Opened,
    Opening,
    PhaseAbandoned,
    PhaseEnded,
    PhaseStarted,
)
from commission.evidence.talk import Answered, Asked, HoldOpened, HoldReleased, Punched
from commission.evidence.wire import Bytes, Intent, Result, Stretch
from commission.judge.plan import Plan
from commission.records.book import Book
from commission.records.chain import Row, link_row
from commission.vocabulary import Instruction, Presence, PunchClass, Reading, Slowed, SwitchBehaviour, Verdict
from tests.support.fake_time import FakeClock
from tests.support.made import begun, ended, found, made

NUMBER = "bench-3/2031-03-14/1"
HOSTILE = (
    "<script>alert(1)</script>",
    "\x1b[31mred\x1b[0m",
    "a|b `code` *bold* _it_",
    "[link](javascript:alert(1))",
    "![x](http://example.org/x.png)",
    "\u202egnp.exe\u202c",
    'x" onmouseover="alert(1)',
    "# heading",
    "&lt;b&gt;",
    "line\nbreak\r\nand more",
    "{{ 7 * 7 }}",
    "</style></svg><img src=x onerror=alert(1)>",
)
"""What a printer, a port or a person could put into a report."""


class ScriptedRun:
    """One run in the making.

    Steer it by calling what happens, in order; `wait` lets time pass. `book` is what a report is drawn from.
    """

    def __init__(self, folder: Path, number: str = NUMBER) -> None:
        self.clock = FakeClock()
        self.number = number
        self.book = Book(folder / "book.sqlite3", self.clock)

    def wait(self, seconds: float) -> None:
        """Let time pass."""
        self.clock.elapsed_s += seconds

    def write(self, entry: Entry, raw: bytes = b"") -> Row:
        """Append an entry of any kind."""
        return self.book.append(self.number, entry, raw=raw)

    def write_text(self, kind: str, payload: object) -> None:
        """Append what no version of the tool has written."""
        at = self.clock.now().isoformat(timespec="milliseconds")
        text, us = json.dumps(payload), round(1e6 * self.clock.elapsed_s)
        (rows,) = self.book.chains()
        row = link_row(rows[-1], run=self.number, kind=kind, at=at, elapsed_us=us, payload=text)
        self.book.receive([*rows, row])

    def start(self, **given: Any) -> None:
        """Begin the run."""
        usual: dict[str, Any] = {
            "tag": "bench-3",
            "site": "Makerspace workshop",
            "port": "/dev/ttyACM0",
            "tool_version": "0.1.0",
            "timezone": "UTC",
            "plan": Plan(seed=7, cycles=6),
            "plan_sentences": ("6 cycles of filament in and filament out.", "One misread is a fail."),
            "cautions": ("Know where the power switch is.",),
            "blind_spots": ("A presence switch does not see a clogged nozzle.",),
        }
        self.write(begun(self.number, **usual | given))

    def exchange(self, command: str, lines: Sequence[str], purpose: str = "ask for the switch states") -> None:
        """A command and its answer, with the bytes."""
        self.write(Intent(command=command, purpose=purpose, effect=Effect.READ_ONLY))
        self.traffic((True, f"{command}\n".encode()), *((False, f"{line}\n".encode()) for line in lines))
        self.write(Result(command=command, end="acknowledged", lines=tuple(lines)))

    def traffic(self, *stretches: tuple[bool, bytes]) -> None:
        """Bytes, each stretch 2 ms after the one before; the monotonic time began 100 s before the book was opened."""
        parts, raw = [], b""
        for sent, data in stretches:
            self.wait(0.002)
            parts.append(Stretch(sent, round(1e6 * (100 + self.clock.elapsed_s)), len(data)))
            raw += data
        self.wait(0.001)
        self.write(Bytes(parts=tuple(parts)), raw)

    def trial(
        self, number: int, instruction: str, presence: str, dwell: Sequence[str], *, before: str = "", **given: Any
    ) -> None:
        """A prompt with 2 s to act and a dwell of one reading each 0.1 s."""
        asked = prompt(number, instruction, presence, readings=len(dwell))
        self.write(asked)
        self.wait(2.5)
        read = (TimedReading(1.0, Reading(before or dwell[0]), "word"),)
        dwelt = tuple(TimedReading(2.0 + 0.1 * place, Reading(each), "word") for place, each in enumerate(dwell))
        told: dict[str, Any] = {"unread": 0, "void_reason": "", "remark": ""} | given
        self.write(Trial.of(asked, read, dwelt, **told))

    def watch(
        self,
        title: str,
        presence: str | None,
        readings: Sequence[str],
        *,
        key: str = "wiggle",
        seconds: float = 1.0,
        slowed: Slowed | None = None,
    ) -> None:
        """A watch with one reading each 0.1 s."""
        declared = None if presence is None else Presence(presence)
        asked = made(WatchBegan, key=key, title=title, switch="filament", presence=declared, seconds=seconds)
        self.write(asked)
        taken_s = 0.1 * len(readings)
        self.wait(taken_s)
        rows = tuple(TimedReading(round(0.1 * place, 4), Reading(each), "word") for place, each in enumerate(readings))
        self.write(Watch.of(asked, rows, taken_s, 0.1, 0, slowed=slowed))

    def finding(self, kind: type[Finding] | str, *sentences: str, **values: Any) -> None:
        """Establish something; a value that is not given is a plain one."""
        self.write(found(kind, *sentences, **values))

    def end(self, outcome: str = "complete", verdict: str = "fail", why: str = "") -> None:
        """End the run."""
        self.write(ended(verdict, outcome, why=why))


def prompt(number: int, instruction: str, presence: str, readings: int = 21) -> TrialBegan:
    """A prompt with 2 s to act."""
    return TrialBegan(
        number=number,
        cycle=(number + 1) // 2,
        instruction=Instruction(instruction),
        presence=Presence(presence),
        switch="filament",
        countdown_s=2.0,
        readings=readings,
        dwell_s=0.5,
    )


def complete(folder: Path) -> ScriptedRun:
    """A whole run: two errors that cancel, one reading that flips, a voided trial, a sheet."""
    run = ScriptedRun(folder)
    run.start()
    run.write(Opening(port="/dev/ttyACM0"))
    run.traffic((False, b"start\n"))
    run.write(Opened(port="/dev/ttyACM0", speed_baud=115200, restarted=True, heard=("start",)))
    run.write(PhaseStarted(name="identify", title="Which printer is this?"))
    run.exchange("M115", ["FIRMWARE_NAME:ExampleFW 102.1.2 MACHINE_TYPE:Bench 3", "ok"], "ask for the identity")
    identity = {"firmware_name": "ExampleFW 102.1.2", "machine": "Bench 3", "announced": True}
    run.finding(meeting.PrinterIdentity, "Firmware as announced: ExampleFW 102.1.2", **identity)
    run.write(PhaseEnded(name="identify"))
    run.write(PhaseStarted(name="loop_check", title="Loop check"))
    run.write(Asked(key="ready", question="Are you ready?"))
    run.write(Answered(key="ready", answer=True))
    run.trial(1, "insert", "in", ["active"] * 5, before="inactive")
    for _ in range(3):
        run.traffic((True, b"M119\n"), (False, b"filament: TRIGGERED\nok\n"))
    run.trial(2, "leave it", "in", ["active", "active", "inactive", "active", "active"])
    run.trial(3, "withdraw", "out", ["inactive"] * 5, before="active", void_reason="dropped the filament")
    run.trial(3, "withdraw", "out", ["inactive"] * 4 + ["unknown"], before="active", unread=1)
    run.watch("Wiggle", "in", ["active"] * 10)
    run.write(HoldOpened(key="unplug.1", title="Power off: unplug", steps=("Pull the USB cable.",), power=True))
    run.wait(20)
    run.write(HoldReleased(key="unplug.1", restarted=True, port="/dev/ttyACM1"))
    run.watch("Unplugged, power-up 1", None, ["active"] * 5, key="unplugged.1")
    run.finding(
        loop.Polarity, "The switch is direct: 2703 to 1.", behaviour=SwitchBehaviour.DIRECT, odds=2702.809828814327
    )
    lines = (sheet_line("tail", "yes"), sheet_line("curve", "no", "worn"))
    run.finding(wiring.MechanicalCheck, "Looked at: 2 lines.", lines=lines, filament="PETG")
    run.finding(
        loop.Acceptance,
        "Unplugged, fail: Reads in.",
        "A clean count says nothing about wear.",
        verdict=Verdict.FAIL,
        criteria=(
            loop.Criterion(name="polarity", rule="Direct", observed="Direct.", verdict=Verdict.PASS),
            loop.Criterion(name="unplugged", rule="Reads out", observed="Reads in.", verdict=Verdict.FAIL),
        ),
    )
    run.write(Punched(grade=PunchClass.INCOMPLETE, text="The label is missing.", cure="Put one on."))
    run.write(Punched(grade=PunchClass.UNSAFE, text="The wiring is fail-to-danger.", cure="Change the contact."))
    run.write(PhaseEnded(name="loop_check"))
    run.finding(meeting.SignOff, "I did it.", operator="R. Okafor", agreed=True, remark="Spool on the left.")
    run.end()
    return run


def sheet_line(name: str, mark: str, reason: str = "") -> wiring.SheetLine:
    """One line of the mechanical sheet."""
    return wiring.SheetLine(name=name, question=f"Is the {name} right?", mark=mark, reason=reason)


def link_lost(folder: Path) -> ScriptedRun:
    """A run whose port vanishes inside a trial."""
    run = ScriptedRun(folder)
    run.start()
    run.write(PhaseStarted(name="loop_check", title="Loop check"))
    run.trial(1, "insert", "in", ["active"] * 5)
    run.write(prompt(2, "withdraw", "out"))
    run.traffic((True, b"M119\n"), (False, b"filament: TRIG"))
    run.write(Interrupted(what="the link was lost", detail="The port vanished.", request="TakeTrial"))
    run.write(PhaseAbandoned(name="loop_check", why="the link was lost"))
    run.end("link lost", "not judged", "Not finished: the link was lost: The port vanished.")
    return run


def broken_off(folder: Path) -> ScriptedRun:
    """A run that was killed: no end, nothing established."""
    run = ScriptedRun(folder)
    run.start()
    run.write(Opening(port="/dev/ttyACM0"))
    return run


def hostile(folder: Path) -> ScriptedRun:
    """A run in which every text that comes from outside is an attack."""
    run = ScriptedRun(folder, "bench-3/2031-03-14/2")
    bad = " ".join(HOSTILE)
    run.start(tag=bad, site=bad, operator=bad, port=bad, timezone=bad, purpose=bad, plan_sentences=HOSTILE)
    run.write(Opened(port=bad, speed_baud=115200, restarted=False, heard=HOSTILE))
    run.write(PhaseStarted(name=bad, title=bad))
    run.exchange(bad, HOSTILE, bad)
    run.write(Asked(key="k", question=bad))
    run.write(Answered(key="k", answer=bad))
    run.trial(1, "insert", "in", ["active"] * 5, void_reason=bad, remark=bad)
    run.watch(bad, "in", ["active"] * 3)
    run.finding(meeting.OpenOnRecord, *HOSTILE)
    run.finding(wiring.MechanicalCheck, bad, lines=(sheet_line(bad, bad, bad),), filament=bad)
    drawn = Picture(svg='<svg xmlns="http://www.w3.org/2000/svg"><script>x</script></svg>', text=bad, description=bad)
    run.finding(wiring.Wiring, "A picture.", answers={bad: bad}, drawn_before=drawn)
    run.finding(meeting.SignOff, bad, agreed=True, remark=bad, operator=bad)
    run.write(Punched(grade=PunchClass.UNSAFE, text=bad, cure=bad))
    run.write_text(bad, {bad: bad})
    run.write_text("finding", {"entry": {"kind": "finding", "finding": {"name": bad}}, "format": 2})
    run.write(Interrupted(what=bad, detail=bad))
    run.end(why=bad)
    return run


RUNS = {"complete": complete, "link-lost": link_lost, "broken-off": broken_off, "hostile": hostile}
