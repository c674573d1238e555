"""Judges a sensor of movement: what was counted over known lengths, held against the rules.

By a motor the length is what the drive was told to feed. A drive that slips feeds less, so a mark on the filament says
how far it really went; without one, nothing that too few changes could mean is laid on the sensor.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from commission.judge.acceptance import Criterion
from commission.judge.stretch import Counted, Stretch, stretch_of, together
from commission.vocabulary import Verdict

PASSES = 3
LEAST_CHANGES = 5
"""With fewer changes in a pass the interval is too wide to tell a sensor that loses every second one."""
UNEVEN = 3.0
"""A gap of so many usual ones is a stretch that stands out."""
MAY_BE_OFF = "The printer does not say that its detector is on: switch it on, then run this again."
NAME_REST, NAME_CHANGES, NAME_AGREE = "still at rest", "changes while filament moves", "passes that agree"
NAME_SHEET, NAME_PRINTER = "filament for one change", "the printer's own distance"
NAME_FED = "filament that the drive moved"
MARK_ERROR_MM = 2.0
"""The way of a mark is the difference of two distances, each measured to about a millimetre."""
SLIP_MM, SLIP_SHARE = 5.0, 0.03
"""A mark that went as far as the drive was told does so within the larger of these; common practice, no source."""
DRIVE = "the drive slips, or the printer's flow or steps for a millimetre are not as they should be"


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
        feed_mm_s: how fast a motor fed it, evenly; None by hand.
        marked_mm: how far a mark went in all passes of a motor together; None where that was not measured.
    """

    length_mm: float
    error_mm: float
    rest_changes: int | None
    passes: tuple[Counted, ...]
    sheet_mm: float | None = None
    printer_mm: float | None = None
    surely: bool = True
    feed_mm_s: float | None = None
    marked_mm: float | None = None

    @property
    def told_mm(self) -> float:
        """What a motor was told to feed in all."""
        return self.length_mm * len(self.passes)

    @property
    def went_as_told(self) -> bool | None:
        """Whether the mark went as far as the drive was told; None where that was not measured."""
        if self.marked_mm is None:
            return None
        return abs(self.told_mm - self.marked_mm) <= max(SLIP_MM, SLIP_SHARE * self.told_mm)

    @property
    def length_known(self) -> bool:
        """Whether it is known how much filament passed: by marks, or by one that went as far as the drive was told."""
        return self.feed_mm_s is None or self.went_as_told is True

    @property
    def uncertain_mm(self) -> float:
        """How far the length of one pass may be off; what the mark misses may all be missing in one pass."""
        if self.marked_mm is None:
            return self.error_mm
        return self.error_mm + MARK_ERROR_MM + abs(self.told_mm - self.marked_mm)

    @property
    def stretch(self) -> Stretch | None:
        """Filament for one change, by all passes."""
        return together([stretch_of(each.changes, self.length_mm, self.uncertain_mm) for each in self.passes])

    @property
    def longest_mm(self) -> float | None:
        """The longest stretch without a change, in millimetres; by hand only where it was pulled evenly."""
        if self.feed_mm_s is not None:
            gaps_s = [each.longest_gap_s for each in self.passes if each.longest_gap_s is not None]
            return None if not gaps_s else self.feed_mm_s * max(gaps_s)
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
    """Each rule held against what was seen; where a drive may have slipped, the sensor is not blamed for it."""
    held = (_changes(moved), _agree(moved), _sheet(moved), _printer(moved))
    if moved.feed_mm_s is None:
        return (_rest(moved), *held)
    seen = held if moved.length_known else tuple(_not_blamed(each) for each in held)
    return (_rest(moved), *seen, _fed(moved, held))


def verdict_of(criteria: Sequence[Criterion]) -> Verdict:
    """A broken rule fails; rest or movement that was not read leaves it not judged; anything else costs the pass."""
    verdicts = {each.name: each.verdict for each in criteria}
    if Verdict.FAIL in verdicts.values():
        return Verdict.FAIL
    decide = (verdicts[NAME_REST], verdicts[NAME_CHANGES], verdicts[NAME_AGREE], verdicts.get(NAME_FED))
    if Verdict.NOT_JUDGED in decide:
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
        or_so = "" if moved.feed_mm_s is not None else ", or the hand did not move it from mark to mark"
        return Criterion(NAME_AGREE, rule, f"They do not: changes were lost in some pass{or_so}.", Verdict.FAIL)
    even = " if even" if moved.feed_mm_s is None else ""
    longest = "" if moved.longest_mm is None else f" Longest without a change: {moved.longest_mm:.1f} mm{even}."
    seen = f"One change takes {moved.stretch.words}.{longest}"
    if moved.uneven:
        lost = "a change lost" if moved.feed_mm_s is not None else "a change lost, or a pause"
        return Criterion(NAME_AGREE, rule, f"{seen} One stands out: {lost}.", Verdict.CONDITIONAL)
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
    if moved.feed_mm_s is not None and moved.longest_mm is not None and moved.longest_mm >= moved.printer_mm:
        seen = f"The printer waits for {moved.printer_mm:g} mm; {moved.longest_mm:.1f} mm passed without a change."
        return Criterion(NAME_PRINTER, rule, f"{seen} It stops prints that run well.", Verdict.FAIL)
    if moved.stretch is None or moved.stretch.most_mm is None:
        return Criterion(NAME_PRINTER, rule, "Nothing was measured to compare.", Verdict.NOT_JUDGED)
    seen = f"The printer waits for {moved.printer_mm:g} mm; one change takes {moved.stretch.words}."
    if moved.stretch.least_mm >= moved.printer_mm:
        return Criterion(NAME_PRINTER, rule, f"{seen} It stops prints that run well.", Verdict.FAIL)
    clear = moved.stretch.most_mm < moved.printer_mm
    return Criterion(NAME_PRINTER, rule, seen, Verdict.PASS if clear else Verdict.CONDITIONAL)


def _not_blamed(criterion: Criterion) -> Criterion:
    """A rule that is broken where less filament may have passed than was told: it says nothing of the sensor."""
    if criterion.verdict is not Verdict.FAIL:
        return criterion
    return replace(criterion, observed=f"{criterion.observed} Or the drive slipped.", verdict=Verdict.NOT_JUDGED)


def _fed(moved: Moved, held: Sequence[Criterion]) -> Criterion:
    """Whether the filament went as far as the drive was told; `held` are the other rules, as though it had."""
    rule = "The filament goes as far as the drive is told"
    if moved.marked_mm is not None:
        seen = f"Told {moved.told_mm:g} mm; a mark went {moved.marked_mm:g} mm."
        if moved.went_as_told:
            return Criterion(NAME_FED, rule, seen, Verdict.PASS)
        return Criterion(NAME_FED, rule, f"{seen} Nothing is said of the sensor: {DRIVE}.", Verdict.NOT_JUDGED)
    verdicts = {each.name: each.verdict for each in held}
    if Verdict.FAIL in verdicts.values():
        seen = "Not measured. Pull the filament by hand before the sensor is blamed: the drive may slip."
        return Criterion(NAME_FED, rule, seen, Verdict.NOT_JUDGED)
    if verdicts[NAME_SHEET] is Verdict.PASS:
        return Criterion(NAME_FED, rule, "Not measured; the data sheet's changes came for it.", Verdict.PASS)
    return Criterion(NAME_FED, rule, "Not measured: a drive that slips is not told from this.", Verdict.CONDITIONAL)
