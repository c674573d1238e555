"""How long the filament between the two marks is: measured twice, and refused where that cannot be."""

from dataclasses import dataclass

from commission.asking.message import Tell, Weight
from commission.asking.request import Enter, EntryKind
from commission.asking.steps import Steps, enter

LEAST_MM, MOST_MM = 50.0, 2000.0
TRIES = 3
NEAR_SHARE, NEAR_MM = 0.01, 1.0
"""Two measurements of one length agree within the larger of these."""
HOW = (
    "Draw two thin marks across the filament, at least 150 mm apart: the more, the more exact.",
    "Pull the filament straight beside a ruler and measure from one mark to the other.",
)


@dataclass(frozen=True)
class Marks:
    """The length between the marks and what it is uncertain by, in millimetres."""

    length_mm: float
    error_mm: float


def measured_marks() -> Steps[Marks | None]:
    """Have the distance measured twice; None where two measurements never agree."""
    for _ in range(TRIES):
        first = yield from _measured("motion.marks", "Distance between the two marks", HOW)
        second = yield from _measured("motion.marks_again", "Measure it once more, anew: the distance", ())
        apart = abs(first - second)
        if apart <= max(NEAR_MM, NEAR_SHARE * max(first, second)):
            return Marks((first + second) / 2, max(NEAR_MM, apart))
        said = f"{first:g} mm and {second:g} mm are two lengths. A count over a length that nobody knows tells nothing."
        yield Tell((said, "Measure it again, twice."), weight=Weight.CAUTION)
    return None


def _measured(key: str, question: str, lines: tuple[str, ...]) -> Steps[float]:
    asked = Enter(key, question, EntryKind.NUMBER, unit="mm", least=LEAST_MM, most=MOST_MM, lines=lines)
    return float((yield from enter(asked)))
