"""Changes counted over a measured length: what they tell of one change, and what fails."""

from fractions import Fraction
from random import Random

import pytest

from commission.judge.movement import (
    LEAST_CHANGES,
    NAME_AGREE,
    NAME_CHANGES,
    NAME_FED,
    NAME_PRINTER,
    NAME_REST,
    NAME_SHEET,
    Moved,
    criteria_of,
    verdict_of,
)
from commission.judge.stretch import Counted, Stretch, count, stretch_of, together
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


@pytest.mark.parametrize(("late", "gap_s"), [(0, 0.02), (1, 0.5), (4, 0.5), (5, 0.5), (6, 0.02)])
def test_the_readings_around_the_changes_count(late: int, gap_s: float) -> None:
    """The gap up to the first change (2nd of 7 readings) counts, and the one behind the last (5th); others do not."""
    words = [Reading.INACTIVE, Reading.ACTIVE, Reading.ACTIVE, Reading.ACTIVE, *[Reading.INACTIVE] * 3]
    taken, at_s = [], 0.0
    for number, word in enumerate(words):
        at_s += 0.5 if number == late else 0.02
        taken.append((at_s, word))

    assert gap_s == pytest.approx(count(taken).reading_gap_s)


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


FEED_MM_S = 2.0
NONE = Counted(0, None, None, None, 0.0)
SHORT = Counted(13, 1.6, 1.5, 1.4, 0.02)


def wheel(length_mm: float, pitch_mm: float, *, begun_mm: float = 0.5) -> Counted:
    """What a wheel of that pitch shows of an evenly fed length, from the geometry alone."""
    at_mm, changes = pitch_mm - begun_mm, 0
    while at_mm <= length_mm:
        changes, at_mm = changes + 1, at_mm + pitch_mm
    gap_s = pitch_mm / FEED_MM_S if changes > 1 else None
    return Counted(changes, gap_s, gap_s, gap_s, 0.02)


def fed(
    *passes: Counted, marked: float | None, sheet: float | None = 3.0, printer: float | None = 12.0, rest: int = 0
) -> Moved:
    """100 mm a pass, fed by a motor; `marked` is the way of a mark over all of them."""
    return Moved(100.0, 0.0, rest, passes, sheet, printer, feed_mm_s=FEED_MM_S, marked_mm=marked)


def test_a_motor_with_a_mark_judges_as_a_hand_does() -> None:
    """3 mm a change over 100 mm, and the mark went as far as told: every rule is kept."""
    seen = fed(wheel(100, 3), wheel(100, 3, begun_mm=1.0), wheel(100, 3, begun_mm=2.9), marked=299)

    assert {Verdict.PASS} == set(judged(seen).values())
    assert Verdict.PASS is verdict_of(criteria_of(seen))
    assert seen.longest_mm == pytest.approx(3.0)


@pytest.mark.parametrize(("each", "rule"), [(NONE, NAME_CHANGES), (wheel(100, 6), NAME_SHEET)])
def test_a_mark_that_moved_leaves_the_sensor_to_blame(each: Counted, rule: str) -> None:
    """The filament passed, and the changes did not come: dead, or half of them."""
    seen = fed(each, each, each, marked=300)

    assert Verdict.FAIL is judged(seen)[rule]
    assert Verdict.FAIL is verdict_of(criteria_of(seen))


@pytest.mark.parametrize("marked", [None, 120.0])
@pytest.mark.parametrize("each", [NONE, SHORT])
def test_a_drive_that_may_slip_blames_no_sensor(marked: float | None, each: Counted) -> None:
    """Too few changes, and nobody measured how far the filament went, or it went 120 mm of 300: not judged."""
    seen = fed(each, each, each, marked=marked)

    assert Verdict.FAIL not in judged(seen).values()
    assert Verdict.NOT_JUDGED is judged(seen)[NAME_FED]
    assert Verdict.NOT_JUDGED is verdict_of(criteria_of(seen))


def test_a_mark_that_missed_the_way_judges_nothing() -> None:
    """As many changes as the data sheet says, and a mark that went another way: one of the two is wrong."""
    seen = fed(*[wheel(100, 3)] * 3, marked=250)

    assert Verdict.NOT_JUDGED is verdict_of(criteria_of(seen))


@pytest.mark.parametrize(("sheet", "verdict"), [(3.0, Verdict.PASS), (None, Verdict.CONDITIONAL)])
def test_without_a_mark_the_sheet_decides(sheet: float | None, verdict: Verdict) -> None:
    """The data sheet's changes came for the length: it passed. Without a data sheet a slipping drive looks the same."""
    assert verdict is verdict_of(criteria_of(fed(*[wheel(100, 3)] * 3, marked=None, sheet=sheet)))


def test_a_motor_shows_a_stretch_that_is_too_long() -> None:
    """8 s without a change at 2 mm/s are 16 mm, and the printer waits for 12: by hand that could be a pause."""
    caught = Counted(25, 8.0, 1.5, 1.4, 0.02)
    seen = fed(caught, caught, caught, marked=300, sheet=None)
    by_hand = Moved(100.0, 0.0, 0, (caught, caught, caught), None, 12.0)

    assert seen.longest_mm == pytest.approx(16.0)
    assert Verdict.FAIL is judged(seen)[NAME_PRINTER]
    assert Verdict.FAIL is not judged(by_hand)[NAME_PRINTER]


def test_changes_at_rest_fail_whatever_slips() -> None:
    """Nothing moved then, so that no drive can be the reason."""
    assert Verdict.FAIL is verdict_of(criteria_of(fed(SHORT, SHORT, SHORT, marked=None, rest=3)))


def test_motor_bounds_always_hold_the_truth() -> None:
    """A wheel of any pitch, a drive that slips within what a mark may miss, all of it in one pass or in all.

    The mark is read to a millimetre at both ends. The changes come from the geometry alone.
    """
    chance = Random(41)  # noqa: S311 - lengths of filament, no secret
    for _ in range(1000):
        pitch_mm = chance.uniform(0.5, 9.0)
        short_mm = [chance.uniform(0, 3.0) for _ in range(3)]
        passes = [
            wheel(100 - less_mm, pitch_mm, begun_mm=chance.uniform(0.001, 0.999) * pitch_mm) for less_mm in short_mm
        ]
        marked_mm = round(300 - sum(short_mm) + chance.uniform(-2.0, 2.0), 1)
        seen = fed(*passes, marked=marked_mm, sheet=None)
        assert seen.went_as_told is not False or abs(300 - marked_mm) > 9, (marked_mm, short_mm)
        if seen.went_as_told:
            stretch = seen.stretch
            assert stretch is not None, (pitch_mm, short_mm, marked_mm)
            assert stretch.holds(pitch_mm), (pitch_mm, short_mm, marked_mm)


def test_what_was_not_read_is_not_judged() -> None:
    """Hands off, too few passes, and no pass at all: each says what is missing."""
    seen = {each.name: each for each in criteria_of(moved(GOOD, GOOD, rest=None))}

    assert (Verdict.NOT_JUDGED, "It was not read at rest.") == (seen[NAME_REST].verdict, seen[NAME_REST].observed)
    assert (Verdict.NOT_JUDGED, "2 passes that count.") == (seen[NAME_CHANGES].verdict, seen[NAME_CHANGES].observed)
    assert Verdict.NOT_JUDGED is verdict_of(tuple(seen.values()))
    assert together([]) is None


@pytest.mark.parametrize(
    ("sheet_mm", "lost"),
    [(1.0, True), (9.0, False)],
    ids=["more filament a change than it says", "less filament a change than it says"],
)
def test_a_data_sheet_that_does_not_fit_fails(sheet_mm: float, *, lost: bool) -> None:
    """Only where a change takes more filament than the sheet says may changes have been lost."""
    seen = {each.name: each for each in criteria_of(moved(GOOD, GOOD, GOOD, sheet=sheet_mm))}[NAME_SHEET]

    assert Verdict.FAIL is seen.verdict
    assert lost is seen.observed.endswith("Changes are lost, or less filament passed than the marks say.")


def test_too_few_changes_are_not_judged() -> None:
    """A length on which a sound sensor changes so seldom says nothing: a longer one is asked for."""
    few = Counted(LEAST_CHANGES - 1, 20.0, 15.0, 14.0, 1.0)
    seen = {each.name: each for each in criteria_of(moved(GOOD, GOOD, few))}[NAME_CHANGES]

    assert Verdict.NOT_JUDGED is seen.verdict
    assert seen.observed.endswith("Too few to judge; take a longer length.")


@pytest.mark.parametrize(("changes", "verdict"), [(5, Verdict.PASS), (4, Verdict.NOT_JUDGED)])
def test_five_changes_a_pass_are_judged(changes: int, verdict: Verdict) -> None:
    """As many in each pass are enough, one fewer in a single pass is not; this project's choice."""
    five, last = (Counted(number, 1.0, 1.0, 1.0, 0.02) for number in (5, changes))

    assert verdict is judged(moved(five, five, last, sheet=None, printer=None))[NAME_CHANGES]


@pytest.mark.parametrize(
    ("length_mm", "marked_mm", "as_told", "uncertain_mm"),
    # 5 mm or three in a hundred of what three passes were told, by hand: 120 mm and 300 mm
    [
        (40, 115, True, 8.0),
        (40, 114.9, False, 8.1),
        (40, 125, True, 8.0),
        (100, 291, True, 12.0),
        (100, 290.9, False, 12.1),
        (100, None, None, 1.0),
    ],
)
def test_a_mark_may_miss_its_way_a_little(
    length_mm: float, marked_mm: float | None, uncertain_mm: float, *, as_told: bool | None
) -> None:
    """What it misses, 2 mm of reading it and the measure of the length make each pass uncertain."""
    seen = Moved(length_mm, 1.0, 0, (GOOD, GOOD, GOOD), feed_mm_s=2.0, marked_mm=marked_mm)

    assert as_told is seen.went_as_told
    assert uncertain_mm == pytest.approx(seen.uncertain_mm)


@pytest.mark.parametrize(("longest_s", "verdict"), [(0.75, Verdict.PASS), (0.76, Verdict.CONDITIONAL)])
def test_three_usual_gaps_do_not_stand_out(longest_s: float, verdict: Verdict) -> None:
    """A longest gap of three usual ones is a hand; a longer one is a change lost or a pause."""
    each = Counted(66, longest_s, 0.25, 0.2, 0.02)

    assert verdict is judged(moved(each, each, each))[NAME_AGREE]


def test_the_longest_way_by_hand_is_reckoned_evenly() -> None:
    """50 changes of 0.25 s over 200 mm, by hand: 0.5 s without one are 8 mm; a pass of one change has no gap."""
    each, alone = Counted(50, 0.5, 0.25, 0.2, 0.02), Counted(1, None, None, None, 0.02)

    assert 8.0 == pytest.approx(moved(each, alone, alone).longest_mm)
    assert moved(alone, alone, alone).longest_mm is None


@pytest.mark.parametrize(
    ("printer_mm", "verdict"),
    # ten changes over 200 mm, to within one: 199 / 11 to 201 / 9 mm for one
    [
        (199 / 11, Verdict.FAIL),
        (18.2, Verdict.CONDITIONAL),
        (201 / 9, Verdict.CONDITIONAL),
        (22.4, Verdict.PASS),
    ],
)
def test_the_printer_must_wait_for_longer(printer_mm: float, verdict: Verdict) -> None:
    """A change that surely takes as much as the printer waits for fails, one that surely takes less passes."""
    each = Counted(10, 1.0, 1.0, 1.0, 0.02)

    assert verdict is judged(moved(each, each, each, sheet=None, printer=printer_mm))[NAME_PRINTER]


@pytest.mark.parametrize(("longest_s", "verdict"), [(6.0, Verdict.FAIL), (5.9, Verdict.PASS)])
def test_a_motor_that_fed_as_far_as_that_fails(longest_s: float, verdict: Verdict) -> None:
    """6 s without a change at 2 mm/s are the 12 mm that the printer waits for."""
    each = Counted(25, longest_s, 1.5, 1.4, 0.02)

    assert verdict is judged(fed(each, each, each, marked=300, sheet=None))[NAME_PRINTER]


def test_a_stretch_holds_its_own_bounds() -> None:
    """It lies between them and may be either; two that only touch still allow one length."""
    found = Stretch(2.0, 3.0)

    assert [False, True, True, False] == [found.holds(length_mm) for length_mm in (1.99, 2.0, 3.0, 3.01)]
    assert Stretch(3.0, 3.0) == together([found, Stretch(3.0, 4.0)])


@pytest.mark.parametrize(("changes", "least_mm", "most_mm"), [(0, 99.0, None), (1, 49.5, None), (2, 33.0, 101.0)])
def test_two_changes_bound_a_stretch(changes: int, least_mm: float, most_mm: float | None) -> None:
    """100 mm to within one, by hand: with fewer changes nothing says how long a stretch may be at most."""
    assert Stretch(least_mm, most_mm) == stretch_of(changes, 100.0, 1.0)


@pytest.mark.parametrize(("shortest_s", "too_fast"), [(0.5, False), (0.49, True)])
def test_two_readings_between_changes_are_enough(shortest_s: float, *, too_fast: bool) -> None:
    """Half a second from change to change and a quarter between readings lose none."""
    assert too_fast is Counted(9, 1.0, 1.0, shortest_s, 0.25).too_fast


@pytest.mark.parametrize(
    ("longest_s", "last", "by_hand", "by_motor"),
    # 50 changes of 0.25 s over 200 mm, and 2 mm/s: worked out by hand
    [
        (0.5, 50, " Longest without a change: 8.0 mm if even.", " Longest without a change: 1.0 mm."),
        (1.0, 50, " One stands out: a change lost, or a pause.", " 2.0 mm. One stands out: a change lost."),
        (
            0.5,
            25,
            " in some pass, or the hand did not move it from mark to mark.",
            " in some pass. Or the drive slipped.",
        ),
    ],
)
def test_a_motor_is_not_blamed_for_a_hand(longest_s: float, last: int, by_hand: str, by_motor: str) -> None:
    """A hand may pull unevenly, pause, or miss a mark; a motor that feeds evenly does none of it, and may slip."""
    each, other = (Counted(changes, longest_s, 0.25, 0.2, 0.02) for changes in (50, last))

    for feed_mm_s, said in ((None, by_hand), (2.0, by_motor)):
        seen = criteria_of(Moved(200.0, 1.0, 0, (each, each, other), feed_mm_s=feed_mm_s))
        assert {found.name: found.observed for found in seen}[NAME_AGREE].endswith(said)


def test_one_change_has_no_longest_gap() -> None:
    """There is nothing between changes, so nothing is said of it, nor where most came at one moment."""
    one, at_once = Counted(1, None, None, None, 0.02), Counted(3, 0.5, 0.0, 0.0, 0.02)
    seen = {each.name: each.observed for each in criteria_of(moved(one, one, one))}

    assert "One change takes 99.50 mm to more." == seen[NAME_AGREE]
    assert moved(at_once, at_once, at_once).longest_mm is None
    assert Counted(0, None, None, None, 0.0) == count([])
