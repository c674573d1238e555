"""One settings report out of a capture: the last whole one, its units, its digest, and what else came with it."""

import pytest

from commission.settings.snapshot import NoReport, separate_reports, snapshot_of_capture
from commission.settings.unit_mode import LengthUnit, TemperatureUnit
from tests.settings.reports import GENERATIONS, NEWER, OLDER, TWO_HOTENDS, report, snapshot
from tests.support.settings_lines import settings_of


@pytest.mark.parametrize("text", GENERATIONS.values(), ids=GENERATIONS)
def test_a_capture_is_one_report(text: str) -> None:
    """A capture of one report gives its lines, in order, without a notice."""
    taken = snapshot_of_capture(text.encode())

    assert snapshot(text).lines == taken.lines
    assert () == taken.notices


def test_what_is_not_understood_is_kept() -> None:
    """A line that is no setting is kept word for word."""
    assert "Auto Power Off:0" in snapshot_of_capture(f"{OLDER}Auto Power Off:0\n".encode()).kept


def test_a_capture_without_settings_says_what_to_do() -> None:
    """A capture without a settings line raises with advice."""
    with pytest.raises(NoReport, match="Save the printer's answer to its settings report"):
        snapshot_of_capture(b"ok\n")


def test_the_last_of_several_reports_is_taken() -> None:
    """Of two reports in one capture the later one counts, and a notice says so."""
    taken = snapshot(OLDER + OLDER.replace("E97.50", "E99.00"))

    assert 99.0 == next(line.values["E"] for line in taken.lines if line.command == "M92")
    assert ("2 settings reports stand in it; the last is taken.",) == taken.notices


def test_a_shorter_last_report_is_suspected() -> None:
    """A last report with fewer lines than the one before is called perhaps cut short."""
    cut = OLDER[: OLDER.index("echo:PID")]

    assert "The last of them has fewer lines than one before it: it may be cut short." in snapshot(OLDER + cut).notices


@pytest.mark.parametrize("text", [OLDER, NEWER, TWO_HOTENDS])
def test_several_lines_of_one_command_are_one_report(text: str) -> None:
    """A command that takes several lines does not begin a new report."""
    assert 1 == len(separate_reports(settings_of(text.splitlines())))


def test_no_lines_are_no_report() -> None:
    """Nothing gives no report."""
    assert [] == separate_reports(())


def test_units_are_read_from_the_report() -> None:
    """The report says in which units it is written; silence means millimetres and Celsius."""
    stated = report("G20 ; (in)", "M149 F", "M92 X2032.00").units
    silent = report("M92 X80.00").units

    assert (LengthUnit.INCH, TemperatureUnit.FAHRENHEIT, True) == (
        stated.length,
        stated.temperature,
        stated.length_stated,
    )
    assert (LengthUnit.MILLIMETRE, TemperatureUnit.CELSIUS, False) == (
        silent.length,
        silent.temperature,
        silent.length_stated,
    )


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        (["G21", "G20", "M92 X80.00"], "millimetres and inches"),
        (["M149 C", "M149 F", "M92 X80.00"], "two units of temperature"),
        (["M149 Q", "M92 X80.00"], "states no known unit of temperature"),
    ],
)
def test_contradicting_units_are_said(lines: list[str], words: str) -> None:
    """A report that contradicts itself in its units is marked, and a notice says that nothing of it is put back."""
    taken = report(*lines)

    assert words in taken.units.unclear
    assert "Nothing of it can be put back." in taken.notices[0]


def test_the_digest_follows_the_settings_only() -> None:
    """The digest is the same with other headings and comments, and another one with one other digit."""
    chatty = OLDER.replace("echo:Steps per unit:", "echo:; Steps each:").replace("; Units in mm", ";")

    assert snapshot(OLDER).digest == snapshot(chatty).digest
    assert snapshot(OLDER).digest != snapshot(OLDER.replace("97.50", "97.51")).digest


def test_a_setting_asked_for_again_is_taken_once() -> None:
    """A line that is printed again after the report replaces the one in it, and a notice says so."""
    taken = snapshot(NEWER + "echo:  M92 X80.00 Y80.00 Z400.00 E99.00\n")

    assert [99.0] == [line.values["E"] for line in taken.lines if line.command == "M92"]
    assert ("Some settings are printed again further down; the later ones are taken.",) == taken.notices


def test_alike_lines_in_a_row_are_all_taken() -> None:
    """Two lines of one command that follow one another are two settings, even when they are alike."""
    assert 2 == len(report("M301 P19.40 I1.21 D77.70", "M301 P19.40 I1.21 D77.70").lines)


def test_more_lines_than_any_printer_prints() -> None:
    """A flood of settings lines is refused with advice."""
    with pytest.raises(NoReport, match="give the capture of one report"):
        report(*(f"M92 T{number} E80.00" for number in range(5001)))
