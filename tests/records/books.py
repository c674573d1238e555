"""Books with invented runs of an invented workshop."""

from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from typing import Any

from commission.evidence.findings.base import Finding
from commission.evidence.findings.loop import Polarity
from commission.evidence.measured import Readings, TimedReading, Trial, Watch
from commission.evidence.runs import PhaseEnded, PhaseStarted
from commission.records.book import Book
from commission.vocabulary import Instruction, Presence, Reading, SwitchBehaviour
from tests.support.fake_time import FakeClock
from tests.support.made import begun, ended, found, made


def rows(readings: Sequence[str]) -> Readings:
    """Readings of 0.1 s, each with the same word of the printer."""
    return tuple(TimedReading(round(0.1 * i, 4), Reading(reading), "word") for i, reading in enumerate(readings))


class Workshop:
    """A book, and a clock whose days can pass."""

    def __init__(self, folder: Path) -> None:
        self.clock = FakeClock()
        self.book = Book(folder / "book.sqlite3", self.clock)

    def days_pass(self, days: float) -> None:
        """Let days pass."""
        self.clock.elapsed_s += timedelta(days=days).total_seconds()

    def begin(self, number: str, purpose: str = "install", tag: str = "bench-3") -> None:
        """The entry that begins a run."""
        self.book.append(number, begun(number, purpose, tag=tag))

    def find(self, number: str, finding: type[Finding] | str, **values: Any) -> None:
        """A finding."""
        self.book.append(number, found(finding, "Found.", **values))

    def phase(self, number: str, name: str, *, ended: bool = True, **kept: Any) -> None:
        """A phase, begun and ended."""
        self.book.append(number, PhaseStarted(name=name, title=name))
        if ended:
            self.book.append(number, PhaseEnded(name=name, kept=kept))

    def trial(
        self, number: str, presence: Presence, readings: list[str], *, moved: bool = True, void: str = ""
    ) -> None:
        """A trial of 0.1 s between readings; the last five are the dwell."""
        taken = rows(readings)
        asked = Instruction.INSERT if presence is Presence.IN else Instruction.WITHDRAW
        trial = made(
            Trial,
            presence=presence,
            instruction=asked if moved else Instruction.LEAVE,
            switch="filament",
            before=taken[:-5],
            dwell=taken[-5:],
            void_reason=void,
        )
        self.book.append(number, trial)

    def watch(self, number: str, key: str, readings: Sequence[str], seconds: float = 0.0) -> None:
        """A watch of 0.1 s between readings."""
        self.book.append(number, made(Watch, key=key, readings=rows(readings), seconds=seconds))

    def end(self, number: str, verdict: str = "pass", outcome: str = "complete", why: str = "") -> None:
        """The entry that ends a run."""
        self.book.append(number, ended(verdict, outcome, why=why))

    def whole_run(self, number: str, purpose: str = "install", verdict: str = "pass", tag: str = "bench-3") -> None:
        """A run with one clean cycle."""
        self.begin(number, purpose, tag)
        self.find(number, Polarity, behaviour=SwitchBehaviour.DIRECT)
        self.trial(number, Presence.IN, ["inactive"] * 3 + ["active"] * 7)
        self.trial(number, Presence.OUT, ["active"] * 3 + ["inactive"] * 7)
        self.end(number, verdict)
