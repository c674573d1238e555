"""`commission motion` end to end: real processes, real bytes, a simulated wheel, a script for hands."""

from pathlib import Path

import pytest

from commission.clock import SystemClock
from commission.evidence.findings.loop import Acceptance
from commission.evidence.findings.motion import MotionChecked, MovementSensed
from commission.evidence.wire import Listening
from commission.judge.movement import NAME_CHANGES, NAME_SHEET
from commission.records.book import Book
from commission.vocabulary import Verdict
from tests.cli.test_install import IN_SIMULATED_TIME, Done, checked
from tests.support.fake_process import running_printer
from tests.support.loaded_tool import carried_out
from tests.support.stepped_time import stepped

HANDS = Path(__file__).with_name("motion.toml")


def counted(
    unit: str,
    folder: Path,
    *,
    marks: str = "198",
    pulled: str = "198",
    reached: str = "yes",
    sheet: str = "3",
    first: str = "",
) -> Done:
    """The check of one unit, in simulated time, with a data sheet of 3 mm; hands pull `pulled` mm, say `reached`."""
    script = folder / "operator.toml"
    filled = HANDS.read_text(encoding="utf-8").replace("format = 1", f"format = 1\n\n{first}", 1)
    for name, value in {"marks": marks, "pulled": pulled, "sheet": sheet, "reached": reached}.items():
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
    assert "Is this sensor a switch" not in done.screen, "who checks a sensor of movement has said so"


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


PULSES = """\
[[answer]]
request = "motion.still"
answer = "yes"
after_s = 1.0

[[answer]]
request = "motion.rest"
answer = "yes"
after_s = 0.0

[[answer]]
request = "motion.ready"
answer = "yes"
run = ["{python}", "-m", "fake_printer.bench", "{control}", "pull", "{pulled}", "10"]

[[answer]]
request = "motion.pull"
answer = "yes"
after_s = 11.0
"""
DEAD = """\
format = 1
like = "e-pulses"
summary = "a counter whose wheel does not turn"
finding = "no pulses while filament moves"

[plant.lever]
pulse_mm = 3000.0

[firmware.detector]
enabled = {}
"""


def test_a_counter_of_pulses_is_asked_before_and_after(tmp_path: Path) -> None:
    """4 mm a pulse, by the printer's own count: no reading flips on this console, and the data sheet's 4 mm agree."""
    done = counted("e-pulses", tmp_path, sheet="4", first=PULSES)

    found = done.finding(MotionChecked)
    with Book(done.book, SystemClock()) as book:
        waits_s = [record.entry.seconds for record in book.records(Listening)]

    assert 4 == done.code, done.screen
    assert waits_s == [10.0], "however soon the hands are said to be off, it waits by itself"
    assert (Verdict.CONDITIONAL, 0) == (found.verdict, found.rest_changes)
    assert Verdict.PASS is rules(found)[NAME_SHEET]
    assert found.least_mm is not None
    assert found.most_mm is not None
    assert found.least_mm < 4.0 < found.most_mm


def test_a_counter_without_pulses_fails(tmp_path: Path) -> None:
    """The printer says that its detector is on, and it counts nothing."""
    unit = tmp_path / "unit.toml"
    unit.write_text(DEAD.format("true"), encoding="utf-8")
    done = counted(str(unit), tmp_path, sheet="4", first=PULSES)

    assert 1 == done.code, done.screen
    assert Verdict.FAIL is rules(done.finding(MotionChecked))[NAME_CHANGES]


def test_a_counter_that_is_off_is_no_sensor(tmp_path: Path) -> None:
    """Nobody knows whether it would count: nothing is judged, and the way out is named."""
    unit = tmp_path / "unit.toml"
    unit.write_text(DEAD.format("false"), encoding="utf-8")
    done = counted(str(unit), tmp_path, sheet="4", first=PULSES)

    assert 4 == done.code, done.screen
    assert "only while the printer's own detector is on" in " ".join(done.screen.split())


TAKEN_FOR_A_SWITCH = """\
format = 1
like = "motion-sensor"
summary = "a wheel, fed by a hand that takes its time"
finding = "presence unknown: the line flips with movement"

[plant.filament]
in_mm = 61.0
hand_move_s = 1.1
"""
SAYS = """
[[answer]]
request = "source.presence"
answer = "yes"

[[answer]]
request = "loop_check.movement"
answer = "{}"
"""


@pytest.mark.parametrize(("says", "code", "verdict"), [("yes", 4, Verdict.NOT_JUDGED), ("no", 1, Verdict.FAIL)])
def test_an_installed_wheel_is_known_by_its_flips(tmp_path: Path, says: str, code: int, verdict: Verdict) -> None:
    """Taken for a switch, it flips while filament moves: who fitted it is asked, and pointed to the motion check."""
    unit = tmp_path / "unit.toml"
    unit.write_text(TAKEN_FOR_A_SWITCH, encoding="utf-8")
    done = checked(str(unit), tmp_path, hands=SAYS.format(says))

    assert code == done.code, done.screen
    assert (says == "yes") is done.finding(MovementSensed).confirmed
    assert verdict is done.finding(Acceptance).verdict
    assert "This looks like a sensor of movement" in done.screen
    pointed = "Run `commission motion TAG --port PORT --source" in " ".join(done.screen.split())
    assert pointed is (says == "yes")
    assert "It senses movement. At rest either word may stand" in done.report() or says == "no"
