"""The guided check on simulated printers, end to end: real processes, real bytes, a script for hands."""

import contextlib
import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import pytest

import commission
from commission.clock import SystemClock
from commission.records.book import Book
from tests.support.fake_process import running_printer

SCRIPT = Path(commission.__file__).parent / "cli" / "demo_operator.toml"


@dataclass
class Done:
    """What a run left behind."""

    code: int
    screen: str
    book: Path
    reports: Path

    def finding(self, name: str) -> dict[str, object]:
        """The facts of a finding; the book must be whole."""
        with Book(self.book, SystemClock()) as book:
            assert [] == book.verify()
            found = [entry.facts for entry in book.entries(kind="finding") if entry.facts["name"] == name]
        assert found, f"no finding {name} in the book"
        facts: dict[str, object] = found[-1]["facts"]
        return facts

    def report(self) -> str:
        """The newest report as Markdown."""
        return max(self.reports.glob("*.md"), key=lambda path: path.stat().st_mtime).read_text()


@contextlib.contextmanager
def install(link: str, control: str, folder: Path, *options: str) -> "Iterator[subprocess.Popen[str]]":
    """The check with short times, as a process that ends with the block; the hands are the demonstration's."""
    command = [sys.executable, "-m", "commission", "install", "bench-3", "--port", link, "--by", "R. Okafor"]
    command += ["--site", "workshop", "--seed", "20"]
    command += ["--cycles", "6", "--countdown", "1.3", "--dwell", "0.5", "--wiggle", "4"]
    command += ["--operator", str(SCRIPT), "--set", f"control={control}"]
    command += ["--book", str(folder / "book.sqlite3"), "--reports", str(folder), *options]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True) as process:
        try:
            yield process
        finally:
            process.kill()


def checked(unit: str, folder: Path, *options: str) -> Done:
    """The whole check of one unit."""
    with (
        running_printer(unit, "--tcp", "0", "--unpaced") as printer,
        install(printer.link, printer.control, folder, *options) as process,
    ):
        screen, _ = process.communicate(timeout=170)
    return Done(process.returncode, screen, folder / "book.sqlite3", folder)


@pytest.fixture(scope="module", name="units")
def _units(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Done]:
    """Two units checked at the same time: a run in real time mostly waits."""
    names = ("sound", "two-errors-cancel")
    with ThreadPoolExecutor(len(names)) as pool:
        return dict(zip(names, pool.map(lambda unit: checked(unit, tmp_path_factory.mktemp(unit)), names), strict=True))


@pytest.mark.timeout(200)
@pytest.mark.parametrize(
    ("unit", "code", "behaviour", "advice"),
    [
        ("sound", 4, "direct", "nothing to change"),
        ("two-errors-cancel", 1, "direct", "change the contact and invert the logic"),
    ],
)
def test_a_unit_gets_the_finding_it_deserves(
    units: dict[str, Done], unit: str, code: int, behaviour: str, advice: str
) -> None:
    """Verdict, polarity and advice are those of the unit, on the screen, in the book and in the report."""
    done = units[unit]

    assert code == done.code, done.screen
    assert behaviour == done.finding("polarity")["behaviour"]
    assert advice == done.finding("advice")["advice"]
    assert ["power-off seen"] * 2 == done.finding("unplugged_at_board")["power"]
    assert f"The switch is {behaviour}: 2703 to 1" in done.screen
    assert f"The switch is {behaviour}: 2703 to 1" in done.report()


@pytest.mark.timeout(120)
def test_a_unit_without_the_sensor_is_said_to_report_none(tmp_path: Path) -> None:
    """No line for the sensor: exit code 1 for the open A item, nothing is judged, and why is said."""
    done = checked("not-compiled-in", tmp_path)

    assert 1 == done.code, done.screen
    assert "The printer's list of switches has no line for a filament sensor." in done.screen
    assert "Verdict: not judged." in done.screen


def read_until(process: "subprocess.Popen[str]", words: str) -> str:
    """The screen up to a line with these words."""
    assert process.stdout is not None
    screen = ""
    for line in process.stdout:
        screen += line
        if words in line:
            return screen
    raise AssertionError(f"the run ended before it said {words!r}:\n{screen}")


@pytest.mark.timeout(120)
@pytest.mark.parametrize(
    ("deed", "code", "said"),
    [
        (("disturb", "banner"), 3, "the board restarted"),
        (("usb", "out"), 3, "the link was lost"),
    ],
)
def test_a_fault_in_mid_cycle_ends_in_a_clear_sentence(
    tmp_path: Path, deed: tuple[str, ...], code: int, said: str
) -> None:
    """Whatever the printer does while the sensor is worked, the run says what it was, and the book is whole."""
    with (
        running_printer("sound", "--tcp", "0", "--unpaced") as printer,
        install(printer.link, printer.control, tmp_path) as process,
    ):
        screen = read_until(process, "Prompt 3 of")
        printer.do(*deed)
        rest, _ = process.communicate(timeout=40)
    screen += rest

    assert code == process.returncode, screen
    assert said in screen
    assert "Suspected supply short through the switch" in screen
    assert "Traceback" not in screen
    with Book(tmp_path / "book.sqlite3", SystemClock()) as book:
        assert [] == book.verify()
        assert 1 == len(list(book.entries(kind="run_ended")))


@pytest.mark.timeout(120)
@pytest.mark.skipif(os.name == "nt", reason="signals are a thing of POSIX systems")
def test_ctrl_c_stops_a_run(tmp_path: Path) -> None:
    """Exit code 130, the run is stopped by the operator, and it has its report."""
    with (
        running_printer("sound", "--tcp", "0", "--unpaced") as printer,
        install(printer.link, printer.control, tmp_path) as process,
    ):
        screen = read_until(process, "Prompt 2 of")
        process.send_signal(signal.SIGINT)
        rest, _ = process.communicate(timeout=30)

    assert 130 == process.returncode, screen + rest
    assert "Outcome of the run: stopped by the operator." in rest
    assert list(tmp_path.glob("*.md"))


@pytest.mark.timeout(120)
@pytest.mark.skipif(os.name == "nt", reason="kill -9 is a thing of POSIX systems")
def test_a_killed_run_leaves_a_whole_book(tmp_path: Path) -> None:
    """After kill -9 in mid-cycle the chain is whole and every trial that was shown as done is there."""
    with (
        running_printer("sound", "--tcp", "0", "--unpaced") as printer,
        install(printer.link, printer.control, tmp_path) as process,
    ):
        read_until(process, "Prompt 2, ")
        process.kill()
        process.communicate(timeout=30)

    with Book(tmp_path / "book.sqlite3", SystemClock()) as book:
        assert [] == book.verify()
        assert 2 <= len(list(book.entries(kind="trial")))
        assert [] == list(book.entries(kind="run_ended"))
    with sqlite3.connect(tmp_path / "book.sqlite3") as plain:
        assert "ok" == plain.execute("PRAGMA integrity_check").fetchone()[0]
    plain.close()


@pytest.mark.timeout(120)
def test_a_port_that_is_not_there_is_said_to_be_missing(tmp_path: Path) -> None:
    """Nothing listens at the address: a clear sentence, exit code 3, and the attempt stands in the book."""
    with install("socket://127.0.0.1:9", "127.0.0.1:9", tmp_path) as process:
        screen, _ = process.communicate(timeout=40)

    assert 3 == process.returncode, screen
    assert "Traceback" not in screen
    assert "127.0.0.1:9" in screen


@pytest.mark.parametrize("port", ["", "socket://bench", "rfc2217://:4000", "socket://bench:99999"])
def test_a_malformed_port_is_wrong_usage(tmp_path: Path, port: str) -> None:
    """A port that is no address is refused before anything is asked, and nothing is recorded."""
    with install(port, "none", tmp_path) as process:
        said, _ = process.communicate(timeout=30)

    assert 2 == process.returncode
    assert said.startswith("commission: The port address ")
    assert [] == list(tmp_path.iterdir())
