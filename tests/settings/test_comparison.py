"""Two reports by value: every value lands in one list, whatever generation of reply it is printed in."""

import pytest

from commission.settings.comparison import compare
from commission.settings.difference import Difference
from commission.settings.meaning import RestoreClass
from tests.settings.reports import (
    GENERATIONS,
    MESH,
    NEWER,
    OLDER,
    OLDEST,
    REPLAYABLE,
    TWO_HOTENDS,
    compared,
    item,
    places,
    report,
    snapshot,
)

SAME, CHANGED = Difference.SAME, Difference.CHANGED
ONLY_BEFORE, ONLY_AFTER = Difference.ONLY_BEFORE, Difference.ONLY_AFTER
MEANING_CHANGED = Difference.MEANING_CHANGED


@pytest.mark.parametrize("text", GENERATIONS.values(), ids=GENERATIONS)
def test_a_report_is_the_same_as_itself(text: str) -> None:
    """Nothing differs and nothing looks wrong when a sound report is compared with itself."""
    comparison = compare(snapshot(text), snapshot(text))

    assert not comparison.differs
    assert comparison.items
    assert {SAME} == {item.difference for item in comparison.items}


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_line_endings_and_a_tail_do_not_count(ending: str) -> None:
    """Other line ends and what follows the report change nothing."""
    other = OLDER.replace("\n", ending) + ending.join(["ok P15 B3", " T:21.4 /0.0 B:20.9 /0.0", ""])

    assert not compare(snapshot(OLDER), snapshot(other)).differs


def test_one_machine_in_the_two_newer_forms() -> None:
    """Values agree between the forms; only the volume switch changed its form, and more is printed by the newer one."""
    comparison = compare(snapshot(OLDER), snapshot(NEWER))

    assert [] == places(comparison, CHANGED)
    assert [] == places(comparison, ONLY_BEFORE)
    assert ["M200 S"] == places(comparison, MEANING_CHANGED)
    assert ["M851 X", "M851 Y", "M603 L", "M603 U", "M412 S", "M412 D"] == places(comparison, ONLY_AFTER)
    assert () == comparison.findings


def test_one_machine_in_the_oldest_and_the_older_form() -> None:
    """Acceleration letters are renamed, the single jerk letter stands for both axes, and nothing else differs."""
    comparison = compare(snapshot(OLDEST), snapshot(OLDER))

    assert [] == places(comparison, CHANGED)
    assert ["M204 P", "M204 R"] == places(comparison, MEANING_CHANGED)
    assert "X stands for both" in item(comparison, "M205", "Y").consequence
    assert (900.0, 900.0) == (item(comparison, "M204", "P").before, item(comparison, "M204", "P").after)
    assert (1200.0, 1200.0) == (item(comparison, "M204", "R").before, item(comparison, "M204", "R").after)
    assert "M204 T" in places(comparison, ONLY_AFTER)


def test_the_replayable_form() -> None:
    """The form without headings agrees with the form it was made from."""
    comparison = compare(snapshot(REPLAYABLE), snapshot(OLDER))

    assert [] == places(comparison, CHANGED) + places(comparison, MEANING_CHANGED) + places(comparison, ONLY_BEFORE)


def test_a_changed_value_is_told_with_its_consequence() -> None:
    """A changed number shows both sides, the unit, the share and what it does to the machine."""
    changed = item(compared("M92 X80.00 E93.00", "M92 X80.00 E102.30"), "M92", "E")

    assert CHANGED is changed.difference
    assert (93.0, 102.3, "steps/mm") == (changed.before, changed.after, changed.unit)
    assert "More filament is fed for the same job: over-extrusion by the same ratio (+10.0 %)." == changed.consequence
    assert RestoreClass.SAFE is changed.restore


def test_the_coarser_precision_decides() -> None:
    """Numbers are equal at the coarser printed precision, and the digits that hides are shown."""
    same = item(compared("M205 J0.01", "M205 J0.013"), "M205", "J")

    assert SAME is same.difference
    assert "3" == same.digits_hidden
    assert "Equal as far as both are printed; the last digits (3) are shown on one side only." == same.consequence


def test_order_of_words_and_lines_does_not_count() -> None:
    """The same words in another order are the same settings."""
    before = report("M205 S0.00 T0.00 B20000 X9.00 Y9.00", "M92 X80.00 E97.50")
    after = report("M92 E97.50 X80.00", "M205 B20000.00 X9.00 Y9.00 S0.00 T0.00")

    assert not compare(before, after).differs


def test_a_missing_letter_is_told() -> None:
    """A letter that one report lacks is only before or only after, with its value."""
    comparison = compare(report("M301 P20.00 I1.00 D70.00 C90.00"), report("M301 P20.00 I1.00 D70.00 L20"))

    assert ["M301 C"] == places(comparison, ONLY_BEFORE)
    assert ["M301 L"] == places(comparison, ONLY_AFTER)
    assert (90.0, None) == (item(comparison, "M301", "C").before, item(comparison, "M301", "C").after)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (["M301 P19.40 I1.21 D77.70"], ["M301 E0 P19.40 I1.21 D77.70"]),
        (
            ["M301 P19.40 I1.21 D77.70", "M301 P26.10 I1.90 D88.00"],
            ["M301 E0 P19.40 I1.21 D77.70", "M301 E1 P26.10 I1.90 D88.00"],
        ),
        (["M92 X80.00 E97.50"], ["M92 X80.00", "M92 T0 E97.50"]),
        (["M900 K0.05"], ["M900 T0 K0.05"]),
        (["M906 X580 E650"], ["M906 X580", "M906 T0 E650"]),
        (["M569 S1 X Y", "M569 S1 T0 E"], ["M569 S1 X", "M569 S1 Y", "M569 S1 T0 E"]),
    ],
)
def test_selectors_are_matched_across_forms(before: list[str], after: list[str]) -> None:
    """A line without a tool is the first tool, a second one the next; flags that name axes are taken apart."""
    assert not compare(report(*before), report(*after)).differs


def test_several_lines_of_one_command_stay_apart() -> None:
    """A change in the second hotend's line is told of that hotend only."""
    comparison = compare(snapshot(TWO_HOTENDS), snapshot(TWO_HOTENDS.replace("E97.50", "E99.50")))

    (changed,) = comparison.of(CHANGED)
    assert ("M92", {"T": 1}, "E", 97.5, 99.5) == (
        changed.command,
        changed.selectors,
        changed.letter,
        changed.before,
        changed.after,
    )


@pytest.mark.parametrize(
    ("before", "after", "letters", "words"),
    [
        ("M205 X9.00 Y9.00 Z0.40 B20000", "M205 J0.02 B20000", ["X", "Y", "Z", "J"], "junction deviation"),
        ("M205 J0.02", "M205 X9.00 Y9.00", ["J", "X", "Y"], "junction deviation"),
        ("M205 X9.00 Y9.00", "M205 X0.05 Y9.00", ["X"], "0.05 like junction deviation"),
        ("M204 S900.00 T1200.00", "M204 P900.00 R1200.00 T900.00", ["P", "R"], "Older builds write S"),
        ("M205 Q20000", "M205 B20000", ["B"], "Some builds write Q"),
        ("M900 K60.00", "M900 K0.08", ["K"], "the tens of older builds"),
        ("M914 X-20", "M914 X120", ["X"], "the signed count"),
    ],
)
def test_a_changed_meaning_is_not_a_changed_value(before: str, after: str, letters: list[str], words: str) -> None:
    """Where a letter means something else than before, the value is listed as such and the reason is said."""
    comparison = compared(before, after)

    assert letters == [item.letter for item in comparison.of(MEANING_CHANGED)]
    assert all(words in item.consequence for item in comparison.of(MEANING_CHANGED))
    assert [] == places(comparison, CHANGED)


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        ("M206 T3 P145 X0.50", "M206 X0.00", "in another family the same word writes raw memory"),
        ("G29 W I0 J0 Z0.10", "G29 P1", "the same word starts probing"),
    ],
)
def test_another_command_of_the_same_name(before: str, after: str, words: str) -> None:
    """A line of another family, or of a probing form, does not mean what the other report's line means."""
    comparison = compared(before, after)

    assert {MEANING_CHANGED} == {item.difference for item in comparison.items}
    assert all(words in item.consequence for item in comparison.items)


def test_a_kept_letter_of_a_replaced_pair_is_compared() -> None:
    """A build with junction deviation that still prints the extruder's jerk has that one compared by value."""
    comparison = compared("M205 X9.00 Y9.00 E5.00", "M205 J0.02 E7.50")

    assert ["M205 E"] == places(comparison, CHANGED)
    assert ["M205 X", "M205 Y", "M205 J"] == places(comparison, MEANING_CHANGED)


def test_heater_gains_give_place_to_a_model() -> None:
    """Three gains before and a heater model after do not mean the same."""
    comparison = compared("M301 P19.40 I1.21 D77.70", "M306 E0 P40.00 C12.00 R0.22 A0.06 F0.07 H0.005")

    assert {"M301 P", "M301 I", "M301 D", "M306 P", "M306 C", "M306 R", "M306 A", "M306 F", "M306 H"} == set(
        places(comparison, MEANING_CHANGED)
    )
    assert {""} == {
        item.consequence.replace(
            "Three gains and a heater model do the same job: nothing carries over, the model is tuned anew.", ""
        )
        for item in comparison.items
    }


@pytest.mark.parametrize(
    ("older", "newer", "switch"),
    [
        (["M200 D1.75", "M200 D0"], ["M200 S0 D1.75"], 0.0),
        (["M200 D1.75"], ["M200 S1 D1.75"], 1.0),
    ],
)
def test_volumes_off_in_the_older_form(older: list[str], newer: list[str], switch: float) -> None:
    """The older form's extra zero means off, its absence on; the diameter is the same."""
    comparison = compare(report(*older), report(*newer))

    assert SAME is item(comparison, "M200", "D").difference
    assert (MEANING_CHANGED, switch, switch) == (
        item(comparison, "M200", "S").difference,
        item(comparison, "M200", "S").before,
        item(comparison, "M200", "S").after,
    )


def test_mesh_points_counted_from_another_number() -> None:
    """A mesh counted from 1 and the same mesh counted from 0 are laid point on point, and the shift is said."""
    from_one = report(*(f"M421 I{i} J{j} Z{i * j / 10:.3f}" for j in (1, 2) for i in (1, 2)))
    from_zero = report(*(f"M421 I{i - 1} J{j - 1} Z{i * j / 10:.3f}" for j in (1, 2) for i in (1, 2)))

    comparison = compare(from_one, from_zero)

    assert ["M421 Z"] * 4 == places(comparison, MEANING_CHANGED)
    assert 4 == len(comparison.items)
    assert all(item.before == item.after for item in comparison.items)
    assert "counted from 1 before and from 0 after" in comparison.items[0].consequence


def test_a_changed_mesh_point_is_named() -> None:
    """One changed point of a mesh is told with its place."""
    (changed,) = compare(snapshot(MESH), snapshot(MESH.replace("Z0.11000", "Z0.13000"))).of(CHANGED)

    assert ("G29", {"I": 1, "J": 0}, "Z") == (changed.command, changed.selectors, changed.letter)


def test_an_unknown_command_is_compared_as_text() -> None:
    """A private command is compared by its words, spacing and comment apart."""
    comparison = compare(report("C100 A1.00  B2 ; mine", "C29 X1"), report("C100 A1.00 B2", "C29 X2"))

    assert (SAME, None) == (item(comparison, "C100", None).difference, item(comparison, "C100", None).letter)
    assert ("C29 X1", "C29 X2") == (item(comparison, "C29", None).before, item(comparison, "C29", None).after)
    assert RestoreClass.REFUSE is item(comparison, "C29", None).restore


def test_inches_are_converted() -> None:
    """A report in inches agrees with the same machine in millimetres, and the unit line is what changed."""
    before = report("G21 ; (mm)", "M203 X254.00 Y254.00", "M92 X80.00", "M851 Z-1.27", "M900 K0.05")
    after = report("G20 ; (in)", "M203 X10.00 Y10.00", "M92 X2032.00", "M851 Z-0.05", "M900 K0.05")

    comparison = compare(before, after)

    assert ["G21 None"] == places(comparison, CHANGED)
    assert ("mm", "in") == (comparison.items[0].before, comparison.items[0].after)
    assert (254.0, 254.0, "mm/s") == (
        item(comparison, "M203", "X").before,
        item(comparison, "M203", "X").after,
        item(comparison, "M203", "X").unit,
    )
    assert "Equal after conversion of the unit." == item(comparison, "M92", "X").consequence


def test_fahrenheit_is_converted() -> None:
    """Presets in Fahrenheit agree with the same presets in Celsius."""
    comparison = compare(report("M149 C", "M145 S0 H205.00 B60.00"), report("M149 F", "M145 S0 H401.00 B140.00"))

    assert ["M149 None"] == places(comparison, CHANGED)
    assert SAME is item(comparison, "M145", "H").difference


def test_both_in_inches_keep_their_unit() -> None:
    """Two reports in inches are shown in inches."""
    comparison = compare(report("G20", "M603 L2.00 U3.00"), report("G20", "M603 L2.50 U3.00"))

    assert (2.0, 2.5, "in") == (
        item(comparison, "M603", "L").before,
        item(comparison, "M603", "L").after,
        item(comparison, "M603", "L").unit,
    )


def test_a_unit_stated_once_is_no_difference() -> None:
    """A build that does not state its unit is taken to use the default."""
    assert not compare(report("M92 X80.00"), report("G21", "M149 C", "M92 X80.00")).differs


def test_a_line_that_cannot_be_read_is_kept() -> None:
    """A word that is no word of a command does not make its line vanish, nor hide its other values."""
    comparison = compare(report("M92 X80.00 Y8o.00"), report("M92 X80.00 Y80.00"))

    assert SAME is item(comparison, "M92", "X").difference
    assert {"M92 Y", "M92 None"} == {f"{i.command} {i.letter}" for i in comparison.items if i.difference is not SAME}


def test_a_change_of_an_undescribed_letter_says_so() -> None:
    """The value is compared like any other; what it does to the machine nobody here knows."""
    changed = item(compared("M92 X80.00 Q1.00", "M92 X80.00 Q2.00"), "M92", "Q")

    assert CHANGED is changed.difference
    assert "What this letter means is not known here." == changed.consequence


def test_a_volume_line_without_a_diameter_says_nothing_of_the_switch() -> None:
    """The older form switches by the diameter: a line that only names a drive makes up no switch."""
    assert "M200 S" not in places(compare(snapshot("echo:  M200 T0\n"), snapshot("echo:  M200 T0\n")), SAME)
