"""Books with invented runs of an invented workshop."""

from datetime import timedelta
from pathlib import Path
from typing import Any

from commission.records.book import Book
from commission.vocabulary import Instruction, Presence
from tests.support.fake_time import FakeClock


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
        facts = {"number": number, "tag": tag, "purpose": purpose, "operator": "R. Okafor", "port": "/dev/ttyUSB0"}
        self.book.append(number, "run_started", facts)

    def find(self, number: str, name: str, **facts: Any) -> None:
        """A finding."""
        self.book.append(number, "finding", {"name": name, "sentences": [f"{name}."], "facts": facts})

    def phase(self, number: str, name: str, *, ended: bool = True, **kept: Any) -> None:
        """A phase, begun and ended."""
        self.book.append(number, "phase_started", {"name": name, "title": name})
        if ended:
            self.book.append(number, "phase_ended", {"name": name, "facts": kept})

    def trial(
        self, number: str, presence: Presence, readings: list[str], *, moved: bool = True, void: str = ""
    ) -> None:
        """A trial of 0.1 s between readings; the last five are the dwell."""
        rows = [[round(0.1 * i, 4), reading, "word"] for i, reading in enumerate(readings)]
        instruction = Instruction.INSERT if presence is Presence.IN else Instruction.WITHDRAW
        facts = {
            "presence": presence.value,
            "instruction": (instruction if moved else Instruction.LEAVE).value,
            "switch": "filament",
            "before": rows[:-5],
            "dwell": rows[-5:],
            "void_reason": void,
        }
        self.book.append(number, "trial", facts)

    def end(self, number: str, verdict: str = "pass", outcome: str = "complete", why: str = "") -> None:
        """The entry that ends a run."""
        self.book.append(number, "run_ended", {"verdict": verdict, "outcome": outcome, "why": why, "exit_code": 0})

    def whole_run(self, number: str, purpose: str = "install", verdict: str = "pass", tag: str = "bench-3") -> None:
        """A run with one clean cycle."""
        self.begin(number, purpose, tag)
        self.find(number, "polarity", behaviour="direct")
        self.trial(number, Presence.IN, ["inactive"] * 3 + ["active"] * 7)
        self.trial(number, Presence.OUT, ["active"] * 3 + ["inactive"] * 7)
        self.end(number, verdict)
