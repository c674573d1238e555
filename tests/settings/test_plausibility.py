"""Values that look wrong, with the line, the value and the range; and none in sound reports."""

import pytest

from commission.settings.plausibility import Suspicion, findings_of
from tests.settings.reports import GENERATIONS, MESH, TWO_HOTENDS, report, snapshot


@pytest.mark.parametrize("text", GENERATIONS.values(), ids=GENERATIONS)
def test_a_sound_report_has_no_finding(text: str) -> None:
    """No value of a sound report looks wrong, alone or against itself."""
    assert () == findings_of(snapshot(text))
    assert () == findings_of(snapshot(text), record=snapshot(text))


@pytest.mark.parametrize(
    ("line", "letter", "suspicion", "words"),
    [
        ("M92 Xnan Y80.00", "X", Suspicion.NOT_A_NUMBER, "M92 X (X axis) is nan"),
        ("M301 Pinf I1.00 D70.00", "P", Suspicion.NOT_A_NUMBER, "is inf"),
        ("M92 X0.00 Y80.00", "X", Suspicion.ZERO, "is 0.00 steps/mm; sound machines lie at 20 to 500 steps/mm."),
        ("M92 X80.00 Q65535", "Q", Suspicion.ERASED, "what an erased store reads as"),
        ("M201 X4294967295 Y500", "X", Suspicion.ERASED, "what an erased store reads as"),
        ("M203 X4294967.295 Y300.00", "X", Suspicion.ERASED, "what an erased store reads as"),
        ("M92 X80.00 E12000.00", "E", Suspicion.OUT_OF_RANGE, "sound machines lie at 40 to 1000 steps/mm."),
        ("M851 Z1.20", "Z", Suspicion.OUT_OF_RANGE, "sound machines lie at -8 to 0.5 mm."),
        ("M205 J8.00", "J", Suspicion.OUT_OF_RANGE, "The number looks like jerk."),
        ("M205 X0.05 Y9.00", "X", Suspicion.OUT_OF_RANGE, "The number looks like junction deviation."),
        ("M900 K60.00", "K", Suspicion.OUT_OF_RANGE, "The number looks like the tens of older builds."),
        ("M412 S1 D500.00", "D", Suspicion.OUT_OF_RANGE, "sound machines lie at 0 to 200 mm."),
        ("M145 S0 H360 B60", "H", Suspicion.OUT_OF_RANGE, "M145 S0 H (hotend) is 360 °C"),
        ("M205 B20", "B", Suspicion.OUT_OF_RANGE, "sound machines lie at 100 to 100000 us."),
    ],
)
def test_a_value_that_looks_wrong_by_itself(line: str, letter: str, suspicion: Suspicion, words: str) -> None:
    """The finding names the value, why it looks wrong, the range and the line."""
    (finding,) = findings_of(report(line))

    assert (letter, suspicion) == (finding.entry.letter, finding.suspicion)
    assert words in finding.sentence
    assert line in finding.entry.line.line


def test_a_heater_without_gains() -> None:
    """Three gains of zero are three findings."""
    assert [Suspicion.ZERO] * 3 == [finding.suspicion for finding in findings_of(report("M301 P0.00 I0.00 D0.00"))]


@pytest.mark.parametrize(
    "line", ["M205 J0.00", "M206 X0.00 Y0.00 Z0.00", "M900 K0.00", "M603 L0.00 U0.00", "M420 S0 Z0.00"]
)
def test_zero_is_sound_where_it_is_usual(line: str) -> None:
    """A zero that is usual, or that may be a small number printed coarsely, is no finding."""
    assert () == findings_of(report(line))


@pytest.mark.parametrize(
    ("units", "sound", "wrong"),
    [
        ("G20", "M203 X10.00 Y10.00 Z0.20", "M203 X300.00 Y10.00 Z0.20"),
        ("M149 F", "M145 S0 H401.00 B140.00", "M145 S0 H752.00 B140.00"),
        ("M149 K", "M145 S0 H478.15 B333.15", "M145 S0 H205.00 B333.15"),
    ],
)
def test_other_units_are_judged_after_conversion(units: str, sound: str, wrong: str) -> None:
    """A report in inches, Fahrenheit or kelvin is held against the same ranges, and the finding shows both units."""
    assert () == findings_of(report(units, sound))
    (finding,) = findings_of(report(units, wrong))
    assert Suspicion.OUT_OF_RANGE is finding.suspicion
    assert "(" in finding.sentence.split(" is ")[1]


@pytest.mark.parametrize(
    ("before", "after", "suspicion", "words"),
    [
        ("M92 X80.00 E97.50", "M92 X160.00 E97.50", Suspicion.JUMP, "was 80.00, is 160.00: a factor of 2"),
        ("M92 X80.00 E97.50", "M92 X80.00 E415.00", Suspicion.JUMP, "a factor of 4.3"),
        ("M200 S0 D1.75", "M200 S0 D2.85", Suspicion.JUMP, "a factor of 1.6"),
        ("M851 Z-1.85", "M851 Z-2.60", Suspicion.JUMP, "more than 0.5 mm away"),
        ("M851 X-32.00 Z-1.85", "M851 X32.00 Z-1.85", Suspicion.SIGN, "the sign has changed"),
    ],
)
def test_a_jump_against_the_last_record(before: str, after: str, suspicion: Suspicion, words: str) -> None:
    """A value that left its last record behind is a finding, with both values."""
    (finding,) = findings_of(report(after), record=report(before))

    assert suspicion is finding.suspicion
    assert words in finding.sentence
    assert finding.recorded is not None


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("M92 X80.00 E97.50", "M92 X80.00 E140.00"),
        ("M205 J0.01", "M205 J0.02"),  # 0.015 printed up and down
        ("M851 Z-1.85", "M851 Z-2.10"),
        ("M145 S0 H205 F0", "M145 S0 H240 F255"),
    ],
)
def test_a_small_change_is_no_jump(before: str, after: str) -> None:
    """A change that tuning makes, or rounding feigns, is no finding."""
    assert () == findings_of(report(after), record=report(before))


def test_exchanged_hotends() -> None:
    """Values that the last record gives to the other hotend are found, on both hotends."""
    exchanged = TWO_HOTENDS.replace("E0 P", "E9 P").replace("E1 P", "E0 P").replace("E9 P", "E1 P")

    found = findings_of(snapshot(exchanged), record=snapshot(TWO_HOTENDS))

    assert {("E0", "P"), ("E0", "I"), ("E0", "D"), ("E1", "P"), ("E1", "I"), ("E1", "D")} == {
        (f"E{finding.entry.selectors['E']}", finding.entry.letter)
        for finding in found
        if finding.suspicion is Suspicion.EXCHANGED
    }


def test_one_hotend_with_the_values_of_the_other() -> None:
    """A hotend that took over the other's value is found; the other one is not."""
    (finding,) = findings_of(
        report("M301 E0 P26.10 I1.21 D77.70", "M301 E1 P26.10 I1.90 D88.00"),
        record=report("M301 E0 P19.40 I1.21 D77.70", "M301 E1 P26.10 I1.90 D88.00"),
    )

    assert (Suspicion.EXCHANGED, {"E": 0}, "P") == (
        finding.suspicion,
        dict(finding.entry.selectors),
        finding.entry.letter,
    )
    assert "the same as another hotend; it was 19.40" in finding.sentence


def test_an_incomplete_mesh() -> None:
    """A mesh with a point missing is a finding."""
    (finding,) = findings_of(snapshot(MESH.replace("echo:  G29 W I1 J0 Z0.11000\n", "")))

    assert Suspicion.MESH is finding.suspicion
    assert "The 3 points of the mesh fill no whole grid" in finding.sentence


def test_an_uneven_mesh() -> None:
    """A mesh that spreads too far is a finding at its highest point."""
    (finding,) = findings_of(snapshot(MESH.replace("Z0.11000", "Z1.64500")))

    assert "The mesh spreads over 1.70 mm" in finding.sentence
    assert "Z1.64500" in finding.entry.line.line


def test_a_home_offset_beside_a_probe_offset() -> None:
    """A home offset in Z is a finding where a probe has an offset, and none without a probe."""
    (finding,) = findings_of(report("M206 X0.00 Y0.00 Z0.20", "M851 Z-1.85"))

    assert Suspicion.CONTRADICTION is finding.suspicion
    assert () == findings_of(report("M206 X0.00 Y0.00 Z0.20"))
