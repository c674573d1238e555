"""`diagnose`: on paper from the book, and at a simulated printer by tests."""

from collections.abc import Mapping
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from commission.cli import main
from commission.clock import SystemClock
from commission.procedure.wiring import assessed
from commission.records.book import Book
from tests.support.fake_process import FakeProcess, running_printer

ANSWERS = {"sensor": "switch", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}
RUN = "bench-3/2031-03-14/1"
CHAFED = [
    {"test": "filament in", "positives": 5, "readings": 5, "restarted": False, "power_up": 0},
    {"test": "filament out", "positives": 5, "readings": 5, "restarted": False, "power_up": 0},
    {"test": "unplugged at the board", "positives": 0, "readings": 5, "restarted": False, "power_up": 1},
    {"test": "unplugged at the sensor", "positives": 5, "readings": 5, "restarted": False, "power_up": 2},
    {"test": "meter, signal to ground, filament out", "positives": 1, "readings": 1, "restarted": False, "power_up": 3},
]
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


def book_with(folder: Path, **findings: Mapping[str, object]) -> Path:
    """A book that holds one earlier run of bench-3 with these findings."""
    place = folder / "book.sqlite3"
    with Book(place, SystemClock()) as book:
        book.append(RUN, "run_started", {"number": RUN, "tag": "bench-3", "purpose": "install"})
        for name, facts in findings.items():
            book.append(RUN, "finding", {"name": name, "sentences": [], "facts": facts})
    return place


def diagnosed(folder: Path, book: Path, *words: str) -> Result:
    """The command's exit code and screen."""
    options = ["--book", str(book), "--reports", str(folder)]
    return CliRunner().invoke(main, ["diagnose", "bench-3", *options, *words])


@pytest.mark.parametrize("tag", ["bench-3", "bench-4"])
def test_without_a_declared_wiring_it_says_what_to_do(tmp_path: Path, tag: str) -> None:
    """A book that holds no wiring of this printer, or no book at all, is wrong use, with advice."""
    book = book_with(tmp_path) if tag == "bench-3" else tmp_path / "none.sqlite3"
    done = diagnosed(tmp_path, book)

    assert 2 == done.exit_code
    assert "Give --port to declare it" in " ".join(done.output.split())


def test_on_paper_it_weighs_what_the_book_holds(tmp_path: Path) -> None:
    """The readings of an earlier run point to a short in the cable; nothing is sent, and the item makes it unsafe."""
    wired = {"answers": dict(assessed(ANSWERS).answers)}
    done = diagnosed(tmp_path, book_with(tmp_path, wiring=wired, tests_done={"observations": CHAFED}))

    assert 1 == done.exit_code, done.output
    assert "signal shorted to ground in the cable" in " ".join(done.output.split())
    assert "Look for a pinched cable" in " ".join(done.output.split())


def test_on_paper_an_undecided_case_names_the_next_test(tmp_path: Path) -> None:
    """From a wiring alone nothing is decided: exit code 4, and a second look is named before any test."""
    wired = {"answers": dict(assessed(ANSWERS).answers)}
    done = diagnosed(tmp_path, book_with(tmp_path, wiring=wired))

    assert 4 == done.exit_code, done.output
    assert "Next test: a second look at" in done.output


@pytest.mark.timeout(120)
def test_at_the_printer_it_asks_until_a_class_leads(tmp_path: Path) -> None:
    """Begun from one reading of the last time, the unit with inverted logic is diagnosed by the hands of a script."""
    wired = {"answers": dict(assessed(ANSWERS).answers)}
    seen = {"observations": [CHAFED[2] | {"positives": 5}]}
    book = book_with(tmp_path, wiring=wired, tests_done=seen)
    with running_printer("inverted-right-contact", "--tcp", "0", "--unpaced") as printer:
        done = diagnosed(tmp_path, book, *_hands(printer, tmp_path))

    assert 1 == done.exit_code, done.output
    with Book(book, SystemClock()) as found:
        facts = [entry.facts for entry in found.entries(kind="finding") if entry.facts["name"] == "diagnosis"]
    assert ["logic-flipped", "words-reversed"] == facts[-1]["facts"]["classes"][0]["members"]


def _hands(printer: FakeProcess, folder: Path) -> list[str]:
    script = folder / "operator.toml"
    script.write_text(OPERATOR)
    times = ["--countdown", "1.3", "--dwell", "0.5", "--by", "R. Okafor"]
    return ["--port", printer.link, "--operator", str(script), "--set", f"control={printer.control}", *times]
