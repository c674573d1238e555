"""`diagnose`: on paper from the book, and at a simulated printer by tests."""

from pathlib import Path

from click.testing import CliRunner, Result
from msgspec import structs

from commission.cli import main
from commission.cli.surroundings import Surroundings
from commission.clock import SystemClock
from commission.evidence.findings import loop
from commission.evidence.findings.base import Finding
from commission.evidence.findings.cause import Diagnosis
from commission.evidence.found import Established
from commission.evidence.observations import Observed
from commission.procedure.wiring.declaration import assessed, wiring_found
from commission.records.book import Book
from commission.records.history import newest_finding, runs
from tests.support.fake_process import FakeProcess, running_printer
from tests.support.made import begun
from tests.support.stepped_time import stepped_surroundings

ANSWERS = {"sensor": "switch", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}
RUN = "bench-3/2031-03-14/1"
CHAFED = (
    Observed(test="filament in", positives=5, readings=5),
    Observed(test="filament out", positives=5, readings=5),
    Observed(test="unplugged at the board", positives=0, readings=5, power_up=1),
    Observed(test="unplugged at the sensor", positives=5, readings=5, power_up=2),
    Observed(test="meter, signal to ground, filament out", positives=1, readings=1, power_up=3),
)
OPERATOR = """
format = 1
[[answer]]
request = "wiring.stands"
answer = "keep"
[[answer]]
request = "diagnose.unchanged"
answer = "yes"
[[answer]]
request = "diagnose.next"
answer = "now"
[[answer]]
request = "diagnose.meter_*"
answer = "skip"
[[answer]]
request = "diagnose.look_*"
answer = "as_declared"
[[answer]]
request = "diagnose.unplugged_at_board.hold"
answer = "released"
run = [
    ["{python}", "-m", "fake_printer.bench", "{control}", "mains", "off"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "usb", "out"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "release-short"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "unplug", "board"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "usb", "in"],
]
[[answer]]
request = "diagnose.bridged.hold"
answer = "released"
run = [
    ["{python}", "-m", "fake_printer.bench", "{control}", "mains", "off"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "usb", "out"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "unplug", "board"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "short", "signal-ground"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "usb", "in"],
]
[[answer]]
request = "diagnose.*.hold"
answer = "released"
run = [
    ["{python}", "-m", "fake_printer.bench", "{control}", "mains", "off"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "usb", "out"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "release-short"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "plug"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "usb", "in"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "mains", "on"],
]
[[answer]]
request = "diagnose.filament_in"
answer = "done"
run = [
    ["{python}", "-m", "fake_printer.bench", "{control}", "withdraw"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "insert"],
]
[[answer]]
request = "diagnose.filament_out"
answer = "done"
run = [
    ["{python}", "-m", "fake_printer.bench", "{control}", "insert"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "withdraw"],
]
[[answer]]
request = "diagnose.cable_worked"
answer = "done"
run = ["{python}", "-m", "fake_printer.bench", "{control}", "insert"]
[[answer]]
request = "diagnose.worked_by_hand.ready"
answer = "yes"
[[answer]]
request = "diagnose.worked_by_hand"
answer = "done"
run = [
    ["{python}", "-m", "fake_printer.bench", "{control}", "withdraw"],
    ["{python}", "-m", "fake_printer.bench", "{control}", "press-lever"],
]
[[answer]]
request = "diagnose.[ub]*"
answer = "done"
[[answer]]
request = "*"
answer = "yes"
"""


def book_with(folder: Path, *findings: Finding) -> Path:
    """A book that holds one earlier run of bench-3 with these findings."""
    place = folder / "book.sqlite3"
    with Book(place, SystemClock()) as book:
        book.append(RUN, begun(RUN))
        for finding in findings:
            book.append(RUN, Established.of(finding))
    return place


def diagnosed(folder: Path, book: Path, *words: str, around: Surroundings | None = None) -> Result:
    """The command's exit code and screen."""
    options = ["--book", str(book), "--reports", str(folder)]
    return CliRunner().invoke(main, ["diagnose", "bench-3", *options, *words], obj=around)


def test_without_a_declared_wiring_it_says_what_to_do(tmp_path: Path) -> None:
    """A book that holds no wiring of this printer is wrong use, with advice."""
    done = diagnosed(tmp_path, book_with(tmp_path))

    assert 2 == done.exit_code
    assert "Give --port to declare it" in " ".join(done.output.split())


def test_on_paper_it_weighs_what_the_book_holds(tmp_path: Path) -> None:
    """The readings of an earlier run point to a short in the cable; nothing is sent, and the item makes it unsafe."""
    wired = wiring_found(assessed(ANSWERS))
    done = diagnosed(tmp_path, book_with(tmp_path, wired, loop.TestsDone(observations=CHAFED)))

    assert 1 == done.exit_code, done.output
    assert "signal shorted to ground in the cable" in " ".join(done.output.split())
    assert "Look for a pinched cable" in " ".join(done.output.split())


def test_on_paper_an_undecided_case_names_the_next_test(tmp_path: Path) -> None:
    """From a wiring alone nothing is decided: exit code 4, and a second look is named before any test."""
    wired = wiring_found(assessed(ANSWERS))
    done = diagnosed(tmp_path, book_with(tmp_path, wired))

    assert 4 == done.exit_code, done.output
    assert "Next test: a second look at" in done.output


def test_at_the_printer_it_asks_until_a_class_leads(tmp_path: Path) -> None:
    """Begun from one reading of the last time, the unit with inverted logic is diagnosed by the hands of a script.

    Time is simulated, see tests/support/stepped_time.py.
    """
    wired = wiring_found(assessed(ANSWERS))
    seen = loop.TestsDone(observations=(structs.replace(CHAFED[2], positives=5),))
    book = book_with(tmp_path, wired, seen)
    with (
        running_printer("inverted-right-contact", "--tcp", "0", "--unpaced", "--stepped") as printer,
        stepped_surroundings(printer.control) as around,
    ):
        done = diagnosed(tmp_path, book, *_hands(printer, tmp_path), around=around)

    assert 1 == done.exit_code, done.output
    with Book(book, SystemClock()) as found:
        diagnosis = newest_finding(found, Diagnosis, [run.number for run in runs(found)])
    assert diagnosis is not None
    assert ("logic-flipped", "words-reversed") == diagnosis.classes[0].members


def _hands(printer: FakeProcess, folder: Path) -> list[str]:
    script = folder / "operator.toml"
    script.write_text(OPERATOR)
    times = ["--countdown", "1.3", "--dwell", "0.5", "--by", "R. Okafor"]
    return ["--port", printer.link, "--operator", str(script), "--set", f"control={printer.control}", *times]
