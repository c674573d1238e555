"""The figures of many simulated diagnoses, counted and as text."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from commission.judge.diagnosis import Diagnosis
from commission.judge.weighing import CONFIDENT
from commission.procedure.wiring.candidates import SLIPPED, SOUND

SOUND_ONES = frozenset({SOUND, SLIPPED})


@dataclass
class Figures:
    """What came out of many runs."""

    runs: int = 0
    right: int = 0
    wrong_and_sure: int = 0
    fault_and_sure: int = 0
    sound_and_sure: int = 0
    asked: int = 0
    minutes: float = 0.0
    decided: int = 0
    passed: int = 0
    passed_unsteady: int = 0
    passed_by_chance: int = 0
    confusion: Counter[tuple[str, str]] = field(default_factory=Counter)

    def count(self, found: Diagnosis, truth: str, asked: int, minutes: float) -> None:
        """Count one diagnosis of a unit of which this is true."""
        first = found.groups[0]
        self.runs += 1
        self.asked += asked
        self.minutes += minutes
        self.decided += found.decided
        right = is_first(found, truth)
        self.right += right
        sure, sound = first.weight > CONFIDENT, bool(SOUND_ONES & set(first.members))
        self.wrong_and_sure += sure and not right
        self.fault_and_sure += sure and not sound
        self.sound_and_sure += sure and sound
        self.confusion[truth, "right" if right else first.members[0]] += 1


def is_first(found: Diagnosis, truth: str) -> bool:
    """Whether the truth is in front."""
    return truth in found.groups[0].members and found.odds > 1


def report(title: str, figures: Figures, *, names: bool = False, passes: bool = False) -> str:
    """The figures as text."""
    runs = max(1, figures.runs)
    lines = [
        f"{title}: {figures.runs} runs",
        f"  true class first          {figures.right / runs:7.1%}",
        f"  another one above 90 %    {figures.wrong_and_sure / runs:7.1%}   ({figures.wrong_and_sure})",
        f"  a fault above 90 %        {figures.fault_and_sure / runs:7.1%}   ({figures.fault_and_sure})",
        f"  called sound above 90 %   {figures.sound_and_sure / runs:7.1%}   ({figures.sound_and_sure})",
        f"  tests asked on average    {figures.asked / runs:7.2f}",
        f"  minutes on average        {figures.minutes / runs:7.1f}",
    ]
    return "\n".join([*lines, *(_passes(figures) if passes else []), *(_confusion(figures) if names else [])])


def _passes(figures: Figures) -> list[str]:
    return [
        f"  passes of a loop check    {figures.passed:5}",
        f"    not steadily out        {figures.passed_unsteady:5}   (unplugged; must be none)",
        f"    stuck at out by chance  {figures.passed_by_chance:5}   (nothing holds the input; no reading can tell)",
    ]


def _confusion(figures: Figures) -> list[str]:
    lines = ["  by the true condition:"]
    for truth in sorted({truth for truth, _ in figures.confusion}):
        row = {found: count for (true, found), count in figures.confusion.items() if true == truth}
        wrong = ", ".join(f"{found} {count}" for found, count in sorted(row.items()) if found != "right")
        lines.append(f"    {truth:<20} right {row.get('right', 0):>3} of {sum(row.values()):>3}   {wrong}".rstrip())
    return lines
