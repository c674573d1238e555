"""`backup`, `restore` and `compare` end to end: real processes, real bytes, a script for hands.

Time is simulated, see tests/support/stepped_time.py.
"""

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from commission.clock import SystemClock
from commission.records.book import Book
from commission.settings.meaning import RestoreClass
from commission.settings.table_reader import standard_table
from tests.settings.reports import OLDER
from tests.support.fake_process import FakeProcess, running_printer
from tests.support.loaded_tool import TOOL, carried_out
from tests.support.stepped_time import stepped

HANDS = """\
format = 1

[[answer]]
request = "backup.working_enough"
answer = "yes"

[[answer]]
request = "way_back.*"
answer = "no"

[[answer]]
request = "reflash.stays"
answer = "no"

[[answer]]
request = "reflash.worklist"
answer = "all"

[[answer]]
request = "reflash.hold"
answer = "released"
run = ["{python}", "-m", "fake_printer.bench", "{control}", "reflash", "new-size"]

[[answer]]
request = "restore.proof"
answer = "power"

[[answer]]
request = "*.power"
answer = "released"
run = ["{python}", "-m", "fake_printer.bench", "{control}", "power-cycle", "0.5"]

[[answer]]
request = "wiring.*"
answer = "operator stop"

[[answer]]
request = "loop_check.*"
answer = "operator stop"

[[answer]]
request = "*"
answer = "yes"
"""
QUESTIONS = {"M115", "M119", "M503", "M78", "M412", "M591"}
RELEASED = {"M500", "M502"}


class Commands:
    """Runs commands against one printer, one book and one folder."""

    def __init__(self, printer: FakeProcess, folder: Path) -> None:
        self.printer = printer
        self.folder = folder
        (folder / "hands.toml").write_text(HANDS)

    def guided(self, command: str, *options: str) -> subprocess.CompletedProcess[str]:
        """A guided run with the script for hands."""
        script = ("--operator", "hands.toml", "--set", f"control={self.printer.control}")
        words = [command, "bench-3", "--book", "book.sqlite3", "--port", self.printer.link, "--by", "R. Okafor"]
        return carried_out(stepped(self.printer.control, *words, *script, *options), cwd=self.folder)

    def assert_only_allowed(self) -> None:
        """Every byte the printer received is a question, a released save or load, or an allowed settings line."""
        table = standard_table()
        for line in self.printer.received():
            word = line.split(maxsplit=1)[0]
            assert word in QUESTIONS | RELEASED or table.commands[word].restore is not RestoreClass.REFUSE, line
            assert line not in ("M412 S1", "M412 S0"), line


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder of its own."""
    return tmp_path


@pytest.fixture
def commands(folder: Path) -> Iterator[Commands]:
    """The tuned unit and the commands."""
    with running_printer("tuned", "--tcp", "0", "--stepped") as printer:
        yield Commands(printer, folder)


def test_a_restore_cut_short_by_the_power_is_finished_by_the_next_one(commands: Commands) -> None:
    """Backup, another firmware, a power cut in the middle of the restore, and again: all is back, nothing else sent."""
    kept = commands.guided("backup")
    tuned = commands.printer.state()["settings"]
    commands.printer.do("reflash", "new-layout")
    commands.printer.do("when", "M201", "power-cycle", "1")
    broken = commands.guided("restore")
    commands.printer.pass_time(1.5)
    finished = commands.guided("restore")
    compared = carried_out([*TOOL, "compare", "bench-3", "--book", "book.sqlite3"], cwd=commands.folder)

    assert 0 == kept.returncode, kept.stdout + kept.stderr
    assert 3 == broken.returncode, broken.stdout + broken.stderr
    assert "The restore has stopped." in broken.stdout
    assert "none of these lines is in" in broken.stdout
    assert 0 == finished.returncode, finished.stdout + finished.stderr
    now = commands.printer.state()["settings"]
    assert {key: tuned[key] for key in tuned if key != "M412"} == {key: now[key] for key in tuned if key != "M412"}
    assert "x M412 D  leftover distance" in compared.stdout
    commands.assert_only_allowed()
    with Book(commands.folder / "book.sqlite3", SystemClock()) as book:
        assert [] == book.verify()


def test_an_installation_through_the_reflash(folder: Path) -> None:
    """`install` on a unit without the sensor: record, hold point, size error, begun afresh, restored, switch found."""
    with running_printer("tuned-without", "--tcp", "0", "--unpaced", "--stepped") as printer:
        commands = Commands(printer, folder)
        before = printer.state()["settings"]
        done = commands.guided("install", "--cycles", "6")
        after = printer.state()["settings"]
        commands.assert_only_allowed()

    assert 130 == done.returncode, done.stdout + done.stderr
    assert "Storage error: their size does not fit the new layout" in done.stdout
    assert "Restore: pass." in done.stdout
    assert before == {key: after[key] for key in before}
    assert "Stopped" not in done.stdout.split("Restore: pass.")[0]


def test_a_capture_needs_no_printer_and_no_terminal(folder: Path) -> None:
    """`backup --from` puts a saved capture into the book and writes both files, without anybody at a terminal."""
    (folder / "console.txt").write_text(OLDER)
    done = carried_out([*TOOL, "backup", "bench-3", "--from", "console.txt", "--book", "b.sqlite3"], cwd=folder)

    assert 0 == done.returncode, done.stdout + done.stderr
    assert "this run had no printer, and nothing was sent" in " ".join(done.stdout.split())
    assert {".txt", ".gcode"} <= {path.suffix for path in folder.glob("bench-3-settings-*")}
    assert "M92 X80.00 Y80.00 Z400.00 E97.50" in next(folder.glob("*.gcode")).read_text()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["backup", "bench-3"], "Give either --port of the printer or --from"),
        (["backup", "bench-3", "--from", "missing"], "cannot be read"),
        (["backup", "bench-3", "--from", "empty"], "no settings line"),
        (["restore", "bench-3", "--port", "socket://127.0.0.1:1"], "no settings record of bench-3"),
        (["restore", "bench-3", "--port", "socket://127.0.0.1:1", "--run", "x/1"], "no settings record of run x/1"),
        (["compare", "bench-3"], "no settings report of bench-3"),
    ],
)
def test_wrong_usage_says_what_to_do(folder: Path, words: list[str], said: str) -> None:
    """What cannot be done ends with 2 and a sentence that says what is missing."""
    (folder / "empty").write_text("ok\n")
    Book(folder / "book.sqlite3", SystemClock()).close()
    done = carried_out([*TOOL, *words, "--book", "book.sqlite3"], cwd=folder)

    assert 2 == done.returncode, done.stdout
    assert said in " ".join(done.stderr.replace("│", " ").split())
