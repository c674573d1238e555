"""The guided check on simulated printers, end to end: real processes, real bytes, a script for hands."""

import os
import re
import signal
import sqlite3
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

import pytest

import commission
from commission.clock import SystemClock
from commission.evidence.findings.base import Finding
from commission.evidence.findings.loop import Advised, Polarity, UnpluggedAtBoard
from commission.evidence.findings.pull import PullProof
from commission.evidence.measured import Trial
from commission.evidence.runs import RunEnded
from commission.judge.power import PowerSeen
from commission.records.book import Book
from commission.records.history import newest_finding, runs
from commission.vocabulary import PullConclusion
from tests.support.fake_process import running_printer
from tests.support.loaded_tool import carried_out
from tests.support.patience import PATIENCE_S
from tests.support.stepped_time import KILLED, stepped

SCRIPT = Path(commission.__file__).parent / "cli" / "demo_operator.toml"
IN_SIMULATED_TIME = ("--tcp", "0", "--unpaced", "--stepped")
BENCH = '["{python}", "-m", "fake_printer.bench", "{control}", '


_F = TypeVar("_F", bound=Finding)


@dataclass
class Done:
    """What a run left behind."""

    code: int
    screen: str
    book: Path
    reports: Path

    def finding(self, kind: type[_F]) -> _F:
        """The newest finding of that kind; the book must be whole."""
        with Book(self.book, SystemClock()) as book:
            assert [] == book.verify()
            found = newest_finding(book, kind, [run.number for run in runs(book)])
        assert found, f"no finding {kind.name()} in the book"
        return found

    def report(self) -> str:
        """The newest report as Markdown."""
        return max(self.reports.glob("*.md"), key=lambda path: path.stat().st_mtime).read_text()


def command(link: str, control: str, folder: Path, *options: str, hands: str = "") -> list[str]:
    """The check with short times; `hands` come before those of the demonstration."""
    script = folder / "operator.toml"
    script.write_text(SCRIPT.read_text().replace("format = 1", f"format = 1\n{hands}", 1))
    words = ["install", "bench-3", "--port", link, "--by", "R. Okafor", "--site", "workshop", "--seed", "20"]
    words += ["--cycles", "6", "--countdown", "1.3", "--dwell", "0.5", "--wiggle", "4"]
    words += ["--operator", str(script), "--set", f"control={control}"]
    return [*words, "--book", str(folder / "book.sqlite3"), "--reports", str(folder), *options]


def checked(unit: str, folder: Path, *options: str, hands: str = "") -> Done:
    """The whole check of one unit, in simulated time."""
    with running_printer(unit, *IN_SIMULATED_TIME) as printer:
        words = stepped(printer.control, *command(printer.link, printer.control, folder, *options, hands=hands))
        done = carried_out(words)
    return Done(done.returncode, done.stdout + done.stderr, folder / "book.sqlite3", folder)


@pytest.mark.parametrize(
    ("unit", "code", "behaviour", "advice"),
    [
        ("sound", 4, "direct", "nothing to change"),
        ("two-errors-cancel", 1, "direct", "change the contact and invert the logic"),
    ],
)
def test_a_unit_gets_the_finding_it_deserves(tmp_path: Path, unit: str, code: int, behaviour: str, advice: str) -> None:
    """Verdict, polarity and advice are those of the unit, on the screen, in the book and in the report."""
    done = checked(unit, tmp_path)

    assert code == done.code, done.screen
    assert behaviour == done.finding(Polarity).behaviour.value
    assert advice == done.finding(Advised).advice.value
    assert (PowerSeen.POWER_OFF,) * 2 == done.finding(UnpluggedAtBoard).power
    assert f"The switch is {behaviour}: 2703 to 1" in done.screen
    assert f"The switch is {behaviour}: 2703 to 1" in done.report()


@pytest.mark.parametrize(
    ("unit", "conclusion", "code"),
    [("sound", PullConclusion.PROVEN, 4), ("three-wire-unheld", PullConclusion.WEAK, 1)],
)
def test_the_pull_is_proven_by_two_resistors(tmp_path: Path, unit: str, conclusion: PullConclusion, code: int) -> None:
    """A sound input holds against 220 kΩ; one that nothing holds reads right all along, and fails by this alone."""
    done = checked(unit, tmp_path)

    found = done.finding(PullProof)
    assert (code, conclusion) == (done.code, found.conclusion), done.screen
    assert found.sentences[0] in done.report()
    assert "[ 1 kΩ ]  then  [ 220 kΩ ]" in done.screen


def test_a_unit_without_the_sensor_is_said_to_report_none(tmp_path: Path) -> None:
    """No line for the sensor: exit code 1 and a fail, with why and what to do next."""
    done = checked("not-compiled-in", tmp_path)

    assert 1 == done.code, done.screen
    assert "The printer's list of switches has no line for a filament sensor." in done.screen
    assert "Build the firmware with the runout input enabled" in done.screen
    assert "Verdict: fail." in done.screen


def at_the_first_withdrawal(deed: str) -> str:
    """A script's answer that has this done in place of the first withdrawal."""
    return f'[[answer]]\nrequest = "trial.withdraw"\nanswer = "done"\nafter_s = 0.2\ntimes = 1\nrun = {deed}\n'


@pytest.mark.parametrize(
    ("deed", "code", "said"),
    [
        ('"disturb", "banner"]', 1, "the board restarted"),
        ('"usb", "out"]', 1, "the link was lost"),
    ],
)
def test_a_fault_in_mid_cycle_ends_in_a_clear_sentence(tmp_path: Path, deed: str, code: int, said: str) -> None:
    """Whatever the printer does while the sensor is worked, the run says what it was, and the book is whole.

    A supply short is suspected then, which is an open item of class A: that decides the exit code.
    """
    done = checked("sound", tmp_path, hands=at_the_first_withdrawal(BENCH + deed))

    assert code == done.code, done.screen
    assert "Prompt 2 of" in done.screen
    assert said in done.screen
    assert "Suspected supply short through the switch" in done.screen
    assert "Traceback" not in done.screen
    with Book(tmp_path / "book.sqlite3", SystemClock()) as book:
        assert [] == book.verify()
        assert 1 == len(list(book.records(RunEnded)))


@pytest.mark.skipif(os.name == "nt", reason="signals are a thing of POSIX systems")
def test_ctrl_c_stops_a_run(tmp_path: Path) -> None:
    """Exit code 130, the run is stopped by the operator, and it has its report. Here time is real."""
    with running_printer("sound", "--tcp", "0", "--unpaced") as printer:
        words = [sys.executable, "-m", "commission", *command(printer.link, printer.control, tmp_path)]
        with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True) as process:
            screen = read_until(process, "Prompt 2 of")
            process.send_signal(signal.SIGINT)
            rest, _ = process.communicate(timeout=PATIENCE_S)

    assert 130 == process.returncode, screen + rest
    assert "Outcome of the run: stopped by the operator." in rest
    assert list(tmp_path.glob("*.md"))


def read_until(process: "subprocess.Popen[str]", words: str) -> str:
    """The screen up to a line with these words."""
    assert process.stdout is not None
    screen = ""
    for line in process.stdout:
        screen += line
        if words in line:
            return screen
    raise AssertionError(f"the run ended before it said {words!r}:\n{screen}")


@pytest.mark.skipif(os.name == "nt", reason="kill -9 is a thing of POSIX systems")
def test_a_killed_run_leaves_a_whole_book(tmp_path: Path) -> None:
    """After kill -9 in mid-cycle the chain is whole and every trial that was shown as done is there."""
    done = checked("sound", tmp_path, hands=at_the_first_withdrawal(KILLED))

    shown = [line for line in done.screen.splitlines() if re.match(r"Prompt \d+, ", line)]
    assert -signal.SIGKILL == done.code, done.screen
    with Book(tmp_path / "book.sqlite3", SystemClock()) as book:
        assert [] == book.verify()
        assert 1 <= len(shown) == len(list(book.records(Trial)))
        assert [] == list(book.records(RunEnded))
    with sqlite3.connect(tmp_path / "book.sqlite3") as plain:
        assert "ok" == plain.execute("PRAGMA integrity_check").fetchone()[0]
    plain.close()


def test_a_port_that_is_not_there_is_said_to_be_missing(tmp_path: Path) -> None:
    """Nothing listens at the address: a clear sentence, exit code 3, and the attempt stands in the book."""
    code, screen = unreachable("socket://127.0.0.1:9", tmp_path)

    assert 3 == code, screen
    assert "Traceback" not in screen
    assert "127.0.0.1:9" in screen


@pytest.mark.parametrize("port", ["", "socket://bench", "rfc2217://:4000", "socket://bench:99999"])
def test_a_malformed_port_is_wrong_usage(tmp_path: Path, port: str) -> None:
    """A port that is no address is refused before anything is asked, and nothing is recorded."""
    code, said = unreachable(port, tmp_path)

    assert 2 == code
    assert said.startswith("commission: The port address ")
    assert ["operator.toml"] == [path.name for path in tmp_path.iterdir()]


def unreachable(port: str, folder: Path) -> tuple[int, str]:
    """Exit code and screen of a check at a port where there is no printer."""
    words = [sys.executable, "-m", "commission", *command(port, "127.0.0.1:9", folder)]
    done = carried_out(words)
    return done.returncode, done.stdout + done.stderr
