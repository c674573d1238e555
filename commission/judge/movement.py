"""How much filament makes one change of a sensor of movement, from changes counted over measured lengths.

What n changes over a length L tell is exact and needs no model of chance: between the first and the last change lie
n - 1 whole stretches, and before the first and after the last there is less than one each. So one stretch is longer
than L / (n + 1) and not longer than L / (n - 1). That the marks are measured to a few tenths widens it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf
from statistics import median

from commission.judge.acceptance import Criterion
from commission.vocabulary import Reading, Verdict

PASSES = 3
LEAST_CHANGES = 5
"""With fewer changes in a pass the interval is too wide to tell a sensor that loses every second one."""
UNEVEN = 3.0
"""A gap of so many usual ones is a stretch that stands out."""
TOO_FAST = 2.0
"""With fewer readings than this from one change to the next a change may have been missed."""
MAY_BE_OFF = "The printer does not say that its detector is on: switch it on, then run this again."
NAME_REST, NAME_CHANGES, NAME_AGREE = "still at rest", "changes while filament moves", "passes that agree"
NAME_SHEET, NAME_PRINTER = "filament for one change", "the printer's own distance"


@dataclass(frozen=True)
class Counted:
    """The changes of one pass.

    Attributes:
        changes: how often the reading changed.
        longest_gap_s: from one change to the next, the longest, in seconds; None with fewer than two.
        usual_gap_s: their median.
        shortest_gap_s: the shortest of them.
        reading_gap_s: the longest time between two known readings, from the first change to behind the last one.
    """

    changes: int
    longest_gap_s: float | None
    usual_gap_s: float | None
    shortest_gap_s: float | None
    reading_gap_s: float

    @property
    def too_fast(self) -> bool:
        """Whether changes came nearly as fast as readings, so that some may not have been seen."""
        return self.shortest_gap_s is not None and self.shortest_gap_s < TOO_FAST * self.reading_gap_s


def count(samples: Sequence[tuple[float, Reading]]) -> Counted:
    """Count the changes in readings, each with its moment in seconds; unknown ones are passed over."""
    known = [(at_s, reading) for at_s, reading in samples if reading is not Reading.UNKNOWN]
    moments = [later for (_, before), (later, after) in pairwise(known) if before is not after]
    gaps_s = [after - before for before, after in pairwise(moments)]
    first_s, last_s = (moments[0], moments[-1]) if moments else (-inf, inf)
    moved = [(before, after) for (before, _), (after, _) in pairwise(known) if after >= first_s and before <= last_s]
    read_s = [after - before for before, after in moved]
    return Counted(
        changes=len(moments),
        longest_gap_s=max(gaps_s, default=None),
        usual_gap_s=median(gaps_s) if gaps_s else None,
        shortest_gap_s=min(gaps_s, default=None),
        reading_gap_s=max(read_s, default=0.0),
    )


@dataclass(frozen=True)
class Stretch:
    """Filament for one change lies between these, in millimetres; `most_mm` is None where nothing bounds it."""

    least_mm: float
    most_mm: float | None

    @property
    def words(self) -> str:
        """It in words."""
        most = "more" if self.most_mm is None else f"{self.most_mm:.2f} mm"
        return f"{self.least_mm:.2f} mm to {most}"

    def holds(self, length_mm: float) -> bool:
        """Whether this length lies in it."""
        return self.least_mm <= length_mm and (self.most_mm is None or length_mm <= self.most_mm)


def stretch_of(changes: int, length_mm: float, error_mm: float) -> Stretch:
    """What that many changes over a length measured to within `error_mm` tell of the filament for one change."""
    most = (length_mm + error_mm) / (changes - 1) if changes > 1 else None
    return Stretch((length_mm - error_mm) / (changes + 1), most)


def together(stretches: Sequence[Stretch]) -> Stretch | None:
    """What all passes allow; None where they contradict each other, or there is none."""
    if not stretches:
        return None
    least = max(each.least_mm for each in stretches)
    bounds = [each.most_mm for each in stretches if each.most_mm is not None]
    most = min(bounds, default=None)
    return None if most is not None and most < least else Stretch(least, most)


@dataclass(frozen=True)
class Moved:
    """What was seen of a sensor of movement.

    Attributes:
        length_mm, error_mm: between the marks, and how far two measurements of it may be apart.
        rest_changes: with nobody's hands on it; None where that was not read.
        passes: of each pass that counts.
        sheet_mm: filament for one change by the data sheet; None where that is not known.
        printer_mm: filament without a change after which the printer acts; None where it does not say.
        surely: whether no change at all proves that it senses none; a counter that is off counts nothing either.
    """

    length_mm: float
    error_mm: float
    rest_changes: int | None
    passes: tuple[Counted, ...]
    sheet_mm: float | None = None
    printer_mm: float | None = None
    surely: bool = True

    @property
    def stretch(self) -> Stretch | None:
        """Filament for one change, by all passes."""
        return together([stretch_of(each.changes, self.length_mm, self.error_mm) for each in self.passes])

    @property
    def longest_mm(self) -> float | None:
        """The longest stretch without a change, in millimetres, where the filament was pulled evenly."""
        found = [
            self.length_mm * each.longest_gap_s / (each.usual_gap_s * each.changes)
            for each in self.passes
            if each.longest_gap_s and each.usual_gap_s
        ]
        return max(found, default=None)

    @property
    def uneven(self) -> bool:
        """Whether a stretch without a change stands out: a missed change, or a hand that paused."""
        return any(
            each.longest_gap_s > UNEVEN * each.usual_gap_s
            for each in self.passes
            if each.longest_gap_s is not None and each.usual_gap_s is not None
        )


def criteria_of(moved: Moved) -> tuple[Criterion, ...]:
    """Each rule held against what was seen."""
    return (_rest(moved), _changes(moved), _agree(moved), _sheet(moved), _printer(moved))


def verdict_of(criteria: Sequence[Criterion]) -> Verdict:
    """A broken rule fails; rest or movement that was not read leaves it not judged; anything else costs the pass."""
    verdicts = {each.name: each.verdict for each in criteria}
    if Verdict.FAIL in verdicts.values():
        return Verdict.FAIL
    if Verdict.NOT_JUDGED in (verdicts[NAME_REST], verdicts[NAME_CHANGES], verdicts[NAME_AGREE]):
        return Verdict.NOT_JUDGED
    return Verdict.PASS if set(verdicts.values()) == {Verdict.PASS} else Verdict.CONDITIONAL


def _rest(moved: Moved) -> Criterion:
    rule = "With hands off the reading does not change"
    if moved.rest_changes is None:
        return Criterion(NAME_REST, rule, "It was not read at rest.", Verdict.NOT_JUDGED)
    seen = f"{moved.rest_changes} changes with hands off."
    return Criterion(NAME_REST, rule, seen, Verdict.FAIL if moved.rest_changes else Verdict.PASS)


def _changes(moved: Moved) -> Criterion:
    rule = f"{PASSES} passes of {moved.length_mm:g} mm, each with {LEAST_CHANGES} changes or more"
    counts = [each.changes for each in moved.passes]
    if len(counts) < PASSES:
        return Criterion(NAME_CHANGES, rule, f"{len(counts)} passes that count.", Verdict.NOT_JUDGED)
    seen = f"Changes: {', '.join(map(str, counts))}."
    if not any(counts) and not moved.surely:
        return Criterion(NAME_CHANGES, rule, f"{seen} {MAY_BE_OFF}", Verdict.NOT_JUDGED)
    if not any(counts):
        return Criterion(NAME_CHANGES, rule, f"{seen} It senses no movement.", Verdict.FAIL)
    if min(counts) < LEAST_CHANGES:
        return Criterion(NAME_CHANGES, rule, f"{seen} Too few to judge; take a longer length.", Verdict.NOT_JUDGED)
    return Criterion(NAME_CHANGES, rule, seen, Verdict.PASS)


def _agree(moved: Moved) -> Criterion:
    rule = "All passes allow one and the same length of filament for a change"
    if not any(each.changes for each in moved.passes):
        return Criterion(NAME_AGREE, rule, "There were no changes to compare.", Verdict.NOT_JUDGED)
    if moved.stretch is None:
        seen = "They do not: changes were lost in some pass, or the hand did not move it from mark to mark."
        return Criterion(NAME_AGREE, rule, seen, Verdict.FAIL)
    longest = "" if moved.longest_mm is None else f" Longest without a change: {moved.longest_mm:.1f} mm if even."
    seen = f"One change takes {moved.stretch.words}.{longest}"
    if moved.uneven:
        return Criterion(NAME_AGREE, rule, f"{seen} One stands out: a change lost, or a pause.", Verdict.CONDITIONAL)
    return Criterion(NAME_AGREE, rule, seen, Verdict.PASS)


def _sheet(moved: Moved) -> Criterion:
    rule = "The data sheet's length for one change lies in what was measured"
    if moved.sheet_mm is None:
        seen = "No data sheet: a sensor that always loses every second change would not be noticed."
        return Criterion(NAME_SHEET, rule, seen, Verdict.NOT_JUDGED)
    if moved.stretch is None or moved.stretch.most_mm is None:
        return Criterion(NAME_SHEET, rule, "Nothing was measured to compare.", Verdict.NOT_JUDGED)
    seen = f"Data sheet: {moved.sheet_mm:g} mm. Measured: {moved.stretch.words}."
    if moved.stretch.holds(moved.sheet_mm):
        return Criterion(NAME_SHEET, rule, seen, Verdict.PASS)
    if moved.stretch.least_mm > moved.sheet_mm:
        seen += " Changes are lost, or less filament passed than the marks say."
    return Criterion(NAME_SHEET, rule, seen, Verdict.FAIL)


def _printer(moved: Moved) -> Criterion:
    rule = "One change takes less filament than the printer waits for"
    if moved.printer_mm is None:
        return Criterion(NAME_PRINTER, rule, "The printer does not say what it waits for.", Verdict.NOT_JUDGED)
    if moved.stretch is None or moved.stretch.most_mm is None:
        return Criterion(NAME_PRINTER, rule, "Nothing was measured to compare.", Verdict.NOT_JUDGED)
    seen = f"The printer waits for {moved.printer_mm:g} mm; one change takes {moved.stretch.words}."
    if moved.stretch.least_mm >= moved.printer_mm:
        return Criterion(NAME_PRINTER, rule, f"{seen} It stops prints that run well.", Verdict.FAIL)
    clear = moved.stretch.most_mm < moved.printer_mm
    return Criterion(NAME_PRINTER, rule, seen, Verdict.PASS if clear else Verdict.CONDITIONAL)
