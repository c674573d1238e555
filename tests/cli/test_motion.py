"""`commission motion` end to end: real processes, real bytes, a simulated wheel, a script for hands."""

from pathlib import Path

import pytest

from commission.evidence.findings.motion import MotionChecked
from commission.judge.movement import NAME_CHANGES, NAME_SHEET
from commission.vocabulary import Verdict
from tests.cli.test_install import IN_SIMULATED_TIME, Done
from tests.support.fake_process import running_printer
from tests.support.loaded_tool import carried_out
from tests.support.stepped_time import stepped

HANDS = Path(__file__).with_name("motion.toml")


def counted(unit: str, folder: Path, *, marks: str = "198", pulled: str = "198", reached: str = "yes") -> Done:
    """The check of one unit, in simulated time, with a data sheet of 3 mm; hands pull `pulled` mm, say `reached`."""
    script = folder / "operator.toml"
    filled = HANDS.read_text(encoding="utf-8")
    for name, value in {"marks": marks, "pulled": pulled, "sheet": "3", "reached": reached}.items():
        filled = filled.replace(f"{{{name}}}", value)
    script.write_text(filled, encoding="utf-8")
    with running_printer(unit, *IN_SIMULATED_TIME) as printer:
        words = ["motion", "bench-3", "--port", printer.link, "--by", "R. Okafor", "--operator", str(script)]
        words += ["--set", f"control={printer.control}", "--book", str(folder / "book.sqlite3")]
        whole = stepped(printer.control, *words, "--reports", str(folder))
        done = carried_out(whole)
    return Done(done.returncode, done.stdout + done.stderr, folder / "book.sqlite3", folder)


def rules(found: MotionChecked) -> dict[str, Verdict]:
    """Each rule's verdict by its name."""
    return {each.name: each.verdict for each in found.criteria}


def test_a_sound_wheel_counts_what_passes(tmp_path: Path) -> None:
    """3 mm a change: the bounds hold it, the data sheet agrees, and it is a pass on screen and paper."""
    done = counted("motion-sensor", tmp_path)

    assert 0 == done.code, done.screen
    found = done.finding(MotionChecked)
    assert (Verdict.PASS, 12.0) == (found.verdict, found.printer_mm)
    assert found.least_mm is not None
    assert found.most_mm is not None
    assert found.least_mm < 3.0 < found.most_mm
    assert "Verdict: pass." in done.screen
    assert "filament for one change" in done.report()


@pytest.mark.parametrize(("unit", "rule"), [("motion-dead", NAME_CHANGES), ("motion-half", NAME_SHEET)])
def test_a_faulty_wheel_fails_by_its_rule(tmp_path: Path, unit: str, rule: str) -> None:
    """Dead, or half the changes."""
    done = counted(unit, tmp_path)

    assert 1 == done.code, done.screen
    assert Verdict.FAIL is rules(done.finding(MotionChecked))[rule]


def test_a_hand_that_stops_short_is_not_counted(tmp_path: Path) -> None:
    """Half the length, and the mark is away from the edge: no pass counts, and nothing is judged."""
    done = counted("motion-sensor", tmp_path, pulled="99", reached="no")

    assert 4 == done.code, done.screen
    found = done.finding(MotionChecked)
    assert (Verdict.NOT_JUDGED, 0, 4) == (found.verdict, len(found.passes), found.set_aside)


def test_a_hand_that_lies_is_found_by_the_sheet(tmp_path: Path) -> None:
    """Half the length, and the mark is said to be reached: the data sheet contradicts it, and both causes are named."""
    done = counted("motion-sensor", tmp_path, pulled="99")

    assert 1 == done.code, done.screen
    assert Verdict.FAIL is rules(done.finding(MotionChecked))[NAME_SHEET]
    assert "or less filament passed than the marks say" in done.screen


@pytest.mark.parametrize(("marks", "said"), [("20", "50"), ("", "motion.marks"), ("two hands", "motion.marks")])
def test_a_wrong_or_missing_distance_is_refused(tmp_path: Path, marks: str, said: str) -> None:
    """Too short, none, or no number: nothing is counted over a length that nobody knows."""
    done = counted("motion-sensor", tmp_path, marks=marks)

    assert done.code not in (0, 4), done.screen
    assert said in done.screen
