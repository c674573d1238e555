"""Changes counted over a measured length: what they tell of one change, and what fails."""

from fractions import Fraction
from random import Random

import pytest

from commission.judge.movement import (
    NAME_AGREE,
    NAME_CHANGES,
    NAME_PRINTER,
    NAME_REST,
    NAME_SHEET,
    Counted,
    Moved,
    count,
    criteria_of,
    stretch_of,
    together,
    verdict_of,
)
from commission.vocabulary import Reading, Verdict

GOOD = Counted(66, 0.2, 0.15, 0.14, 0.02)
HALF = Counted(33, 0.4, 0.3, 0.28, 0.02)


def moved(*passes: Counted, rest: int | None = 0, sheet: float | None = 3.0, printer: float | None = 12.0) -> Moved:
    """200 mm between the marks, measured to within a millimetre."""
    return Moved(200.0, 1.0, rest, passes, sheet, printer)


def judged(seen: Moved) -> dict[str, Verdict]:
    """Each rule's verdict by its name."""
    return {each.name: each.verdict for each in criteria_of(seen)}


@pytest.mark.parametrize(("surely", "verdict"), [(True, Verdict.FAIL), (False, Verdict.NOT_JUDGED)])
def test_no_change_fails_only_what_surely_counts(surely: bool, verdict: Verdict) -> None:
    """A counter that is off counts nothing either: that says nothing of the sensor."""
    none = Counted(0, None, None, None, 0.0)
    seen = Moved(200.0, 1.0, 0, (none, none, none), surely=surely)

    assert verdict is judged(seen)[NAME_CHANGES]
    assert verdict is verdict_of(criteria_of(seen))


def test_the_bounds_always_hold_the_truth() -> None:
    """A wheel of any pitch, begun anywhere, over any length: its pitch lies between the bounds.

    The changes are counted here one by one along the length, in exact fractions; no rule of the tool is used.
    """
    chance = Random(14)  # noqa: S311 - lengths of filament, no secret
    for _ in range(2000):
        pitch = Fraction(chance.randint(5, 900), 100)
        length = Fraction(chance.randint(5000, 60000), 100)
        at, changes = pitch * Fraction(chance.randint(1, 1000), 1000), 0
        while at <= length:
            changes, at = changes + 1, at + pitch
        assert stretch_of(changes, float(length), 1e-6).holds(float(pitch)), (pitch, length, changes)


def test_passes_that_contradict_have_no_length() -> None:
    """66 changes and 33 over one length allow no common length of a change; 66 and 67 do."""
    both = together([stretch_of(66, 200, 1), stretch_of(67, 200, 1)])

    assert together([stretch_of(66, 200, 1), stretch_of(33, 200, 1)]) is None
    assert both is not None
    assert both.holds(3.0)


def test_changes_are_counted_between_known_readings() -> None:
    """A reading that is missing is no change; the gaps are those from change to change."""
    active, inactive, unknown = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN
    counted = count([(0.0, active), (0.5, unknown), (1.0, active), (1.5, inactive), (3.5, active), (4.0, inactive)])

    assert (3, 2.0, 0.5) == (counted.changes, counted.longest_gap_s, counted.shortest_gap_s)
    assert counted.too_fast, "changes half a second apart, and readings two seconds apart"


@pytest.mark.parametrize(("stalled_at", "spoilt"), [(5, False), (35, True), (70, False)])
def test_a_stall_spoils_a_pass_only_while_it_is_pulled(stalled_at: int, spoilt: bool) -> None:
    """Nothing was read for half a second: before the first change and after the last one nothing can be missed by it.

    100 readings, 20 ms apart; the hand pulls from the 20th to the 50th, with a change at each fifth of them.
    """
    words, at_s, taken = [Reading.INACTIVE, Reading.ACTIVE], 0.0, []
    for number in range(100):
        at_s += 0.5 if number == stalled_at else 0.02
        taken.append((at_s, words[(min(max(number, 20), 50) // 5) % 2]))

    assert spoilt is count(taken).too_fast


def test_a_sound_sensor_of_the_sheet_passes() -> None:
    """Every rule is kept."""
    seen = moved(GOOD, GOOD, GOOD)

    assert {Verdict.PASS} == set(judged(seen).values())
    assert Verdict.PASS is verdict_of(criteria_of(seen))


@pytest.mark.parametrize(
    ("seen", "rule"),
    [
        (moved(*[Counted(0, None, None, None, 0.02)] * 3), NAME_CHANGES),
        (moved(GOOD, GOOD, GOOD, rest=4), NAME_REST),
        (moved(GOOD, GOOD, Counted(40, 2.0, 0.15, 0.14, 0.02)), NAME_AGREE),
        (moved(HALF, HALF, HALF), NAME_SHEET),
        (moved(*[Counted(10, 1.4, 1.3, 1.2, 0.02)] * 3, sheet=20.0), NAME_PRINTER),
    ],
)
def test_each_fault_breaks_its_rule(seen: Moved, rule: str) -> None:
    """Dead; changing at rest; losing changes now and then; half of them; slower than the printer waits for."""
    assert Verdict.FAIL is judged(seen)[rule]
    assert Verdict.FAIL is verdict_of(criteria_of(seen))


@pytest.mark.parametrize("each", [GOOD, HALF])
def test_without_a_data_sheet_it_is_conditional(each: Counted) -> None:
    """Half the changes all along would look like a coarser wheel: that is said, and costs the pass."""
    assert Verdict.CONDITIONAL is verdict_of(criteria_of(moved(each, each, each, sheet=None)))


def test_too_few_passes_are_not_judged() -> None:
    """Two passes are no three."""
    assert Verdict.NOT_JUDGED is verdict_of(criteria_of(moved(GOOD, GOOD)))


def test_a_stretch_that_stands_out_costs_the_pass() -> None:
    """A gap of many usual ones: a lost change, or a hand that paused."""
    assert Verdict.CONDITIONAL is judged(moved(GOOD, GOOD, Counted(66, 0.9, 0.15, 0.14, 0.02)))[NAME_AGREE]
