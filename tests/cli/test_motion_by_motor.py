"""`commission motion` with the printer's motor end to end: real processes, real bytes, a script for the person."""

from pathlib import Path

from commission.clock import SystemClock
from commission.evidence.findings.motion import MotionChecked
from commission.evidence.runs import MadeSafe
from commission.records.book import Book
from commission.vocabulary import Verdict
from tests.cli.test_install import IN_SIMULATED_TIME, Done
from tests.support.fake_process import running_printer
from tests.support.loaded_tool import carried_out
from tests.support.stepped_time import stepped

SCRIPT = Path(__file__).with_name("motion_motor.toml")
SAID = {"celsius": "200", "sheet": "3", "before": "", "after": "", "released": "yes", "feed": "done"}


def fed(unit: str, folder: Path, **says: str) -> Done:
    """The check of one unit by its motor, three passes of 100 mm after 10 mm, in simulated time; sheet of 3 mm."""
    filled = SCRIPT.read_text(encoding="utf-8")
    for name, value in (SAID | says).items():
        filled = filled.replace(f"{{{name}}}", value)
    script = folder / "operator.toml"
    script.write_text(filled, encoding="utf-8")
    with running_printer(unit, *IN_SIMULATED_TIME) as printer:
        words = ["motion", "bench-3", "--port", printer.link, "--by", "R. Okafor", "--operator", str(script)]
        words += ["--set", f"control={printer.control}", "--book", str(folder / "book.sqlite3")]
        done = carried_out(stepped(printer.control, *words, "--reports", str(folder)))
    return Done(done.returncode, done.stdout + done.stderr, folder / "book.sqlite3", folder)


def test_a_sound_wheel_is_counted_by_the_motor(tmp_path: Path) -> None:
    """3 mm a change, a mark that went 300 mm after 10 mm of slack: a pass, and the way and its maker are on paper."""
    done = fed("motion-sensor", tmp_path, before="400", after="90")

    assert 0 == done.code, done.screen
    assert Verdict.PASS is done.finding(MotionChecked).verdict
    assert "moved by motor" in done.report()
    assert "The heaters are off" in done.screen


def test_a_stop_while_it_feeds_makes_it_safe(tmp_path: Path) -> None:
    """In the middle of a pass: no more feeds, the heaters go off and are read back."""
    done = fed("motion-sensor", tmp_path, feed="operator stop")

    with Book(done.book, SystemClock()) as book:
        safe = [record.entry.way_out for record in book.records(MadeSafe)]
    assert 130 == done.code, done.screen
    assert (True, True) == (safe[-1].needed, safe[-1].complete), done.screen
    assert "Heater targets read back as zero: delivered" in done.screen


def test_a_nozzle_below_the_limit_is_refused(tmp_path: Path) -> None:
    """The printer drives nothing below 170 °C: a lower temperature is no answer."""
    done = fed("motion-sensor", tmp_path, celsius="160")

    assert done.code not in (0, 1, 4), done.screen
    assert "170" in done.screen
