"""Checks, resuming and identity on simulated printers, end to end: real processes, real bytes, a script for hands.

Time is simulated, see tests/support/stepped_time.py; where a test says so it is real.
"""

import os
import signal
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

import pytest

import commission
from commission.clock import SystemClock
from commission.evidence.entry import Entry
from commission.evidence.findings.base import Finding
from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.meeting import Consent, NextCheck, TagShown
from commission.evidence.findings.reported import SwitchesAsFound
from commission.evidence.found import Established
from commission.evidence.measured import Trial
from commission.evidence.runs import PhaseEnded, RunEnded, RunResumed, RunStarted
from commission.link.identity import PortIdentity
from commission.procedure.meeting.identity import PrinterMarks
from commission.records.book import Book
from commission.records.export import export_lines, import_entries, read_export
from commission.report.write import write_reports
from commission.vocabulary import Verdict
from tests.support.fake_process import FakeProcess, running_printer
from tests.support.loaded_tool import carried_out
from tests.support.made import begun, ended
from tests.support.on_record import marks_on_record
from tests.support.stepped_time import KILLED, stepped

_E = TypeVar("_E", bound=Entry)
_F = TypeVar("_F", bound=Finding)
HANDS = (Path(commission.__file__).parent / "cli" / "demo_operator.toml").read_text().replace("format = 1", "", 1)
TOOL = (sys.executable, "-m", "commission")
STEADY = '[[answer]]\nrequest = "steady"\nanswer = "done"\n'


def answer(request: str, text: str) -> str:
    """One answer of a script."""
    return f'[[answer]]\nrequest = "{request}"\nanswer = "{text}"\n'


class Bench:
    """A workshop folder with its book, and a simulated printer; commands live in its time, or in real time."""

    def __init__(self, printer: FakeProcess, folder: Path, *, simulated_time: bool = True) -> None:
        self.printer = printer
        self.folder = folder
        self.place = folder / "book.sqlite3"
        self._simulated_time = simulated_time

    def run(self, *words: str, script: str = "") -> tuple[int, str]:
        """A command in a process of its own; `script` comes before the demonstration's hands."""
        command = self._command(words, script)
        done = carried_out(command)
        return done.returncode, done.stdout + done.stderr

    def _command(self, words: Sequence[str], script: str) -> list[str]:
        command = [*words, "--port", self.printer.link]
        command += ["--book", str(self.place), "--reports", str(self.folder)]
        if script:
            file = self.folder / "operator.toml"
            file.write_text(f"format = 1\n{script}{STEADY}{HANDS}")
            command += ["--operator", str(file), "--set", f"control={self.printer.control}", "--by", "R. Okafor"]
        return stepped(self.printer.control, *command) if self._simulated_time else [*TOOL, *command]

    def entries(self, kind: type[_E]) -> list[_E]:
        """Entries of the book, which must be whole."""
        with Book(self.place, SystemClock()) as book:
            assert [] == book.verify()
            return [record.entry for record in book.records(kind)]

    def runs_with(self, kind: type[Entry]) -> set[str]:
        """The numbers of the runs that have such an entry."""
        with Book(self.place, SystemClock()) as book:
            return {record.run for record in book.records(kind)}

    def findings(self, kind: type[_F]) -> list[_F]:
        """Every finding of that kind."""
        found = [entry.finding for entry in self.entries(Established)]
        return [finding for finding in found if isinstance(finding, kind)]

    def on_record(self, *findings: Finding) -> None:
        """Have a complete earlier run with these findings on record."""
        run = "bench-3/2031-03-14/1"
        with Book(self.place, SystemClock()) as book:
            for entry in (begun(run), *map(Established.of, findings), ended()):
                book.append(run, entry)


@contextmanager
def bench(folder: Path, unit: str = "sound", *, simulated_time: bool = True) -> Iterator[Bench]:
    """A bench with a printer of this kind on it."""
    options = ("--stepped",) if simulated_time else ()
    with running_printer(unit, "--tcp", "0", "--unpaced", *options) as printer:
        yield Bench(printer, folder, simulated_time=simulated_time)


INSTALL = ("install", "bench-3", "--cycles", "6", "--countdown", "1.3", "--dwell", "0.5", "--wiggle", "2")
STOP_AT_LOOP_CHECK = answer("loop_check.ready", "operator stop")


def test_an_unattended_check_asks_only_questions(tmp_path: Path) -> None:
    """With consent on record it judges what needs no hands, says what it cannot know, and changes nothing.

    Here time is real, from the opening of the port to the report.
    """
    with bench(tmp_path, simulated_time=False) as there:
        there.on_record(Consent(granted=True, by="R. Okafor"))
        code, screen = there.run("check", "bench-3", "--unattended", "--steady", "1")
        received = there.printer.received()

    assert 0 == code, screen
    (found,) = there.findings(CheckJudged)
    verdicts = {each.name: each.verdict for each in found.criteria}
    assert ("condition check", Verdict.PASS) == (found.kind, found.verdict)
    assert (Verdict.PASS, Verdict.PASS) == (verdicts["runout detection"], verdicts["steadiness"])
    assert {"misreads", "pause", "unplugged", "runout detection after a restart"} <= set(found.not_judged)
    assert "This check does not tell whether the reading follows the filament" in screen
    assert {"M115", "M27", "M119", "M412", "M503"} >= {
        line.split("*")[0].split(" ", 1)[-1] for line in received if line
    }


def test_a_printer_that_does_not_watch_fails_unattended(tmp_path: Path) -> None:
    """Watching that is off is a fail with an open item of class A."""
    with bench(tmp_path, "watching-off") as there:
        there.on_record(Consent(granted=True, by="R. Okafor"))
        code, screen = there.run("check", "bench-3", "--unattended", "--steady", "1")

    assert 1 == code, screen
    assert "Runout detection is off: nothing protects this printer." in screen


def test_a_brief_check_is_held_against_the_one_before(tmp_path: Path) -> None:
    """Six cycles and a wiggle pass, the next dates and the consent come on record, and the trend is shown."""
    with bench(tmp_path) as there:
        words = ("check", "bench-3", "--countdown", "1.3", "--dwell", "0.5", "--wiggle", "2", "--steady", "1")
        code, screen = there.run(*words, script=answer("start_up", "done"))

    assert 0 == code, screen
    (found,) = there.findings(CheckJudged)
    assert ("brief check", Verdict.PASS) == (found.kind, found.verdict)
    assert there.findings(Consent)[0].granted
    assert there.findings(NextCheck)[0].agreed


def test_a_swapped_printer_is_noticed_before_anything_is_sent(tmp_path: Path) -> None:
    """Another unique number than on record and a no from the operator end the run after nothing but a question."""
    marks = PrinterMarks(PortIdentity("", "", "", "socket://127.0.0.1:1"), uuid="00000000-1111-4222-8333-444455556666")
    with bench(tmp_path) as there:
        there.on_record(marks_on_record(marks))
        code, screen = there.run(*INSTALL, script=answer("identity.same", "no"))
        received = there.printer.received()

    assert 3 == code, screen
    assert "This looks like another printer than bench-3." in screen
    assert [] == there.findings(SwitchesAsFound)
    assert {"M115"} == {line.split("*")[0].split(" ", 1)[-1] for line in received if line}


def test_the_tag_is_shown_on_the_display(tmp_path: Path) -> None:
    """With --prove the display gets the tag, and the run says what it did to the printer."""
    script = answer("identity.proved", "yes") + answer("as_found.*", "yes") + STOP_AT_LOOP_CHECK
    with bench(tmp_path) as there:
        _, screen = there.run(*INSTALL, "--prove", script=script)
        received = there.printer.received()

    assert any("M117 bench-3" in line for line in received), screen
    assert [True] == [found.seen for found in there.findings(TagShown)]


CHECK = ("check", "bench-3", "--countdown", "1.3", "--dwell", "0.5", "--wiggle", "2", "--steady", "1")


def test_a_broken_off_function_test_begins_anew_and_says_so(tmp_path: Path) -> None:
    """A job with one phase of substance is not taken up again; that one was broken off is said before the next."""
    with bench(tmp_path) as there:
        first, before = there.run("function", "bench-3", script=answer("function.*", "operator stop"))
        _, screen = there.run("function", "bench-3", script=answer("function.*", "operator stop"))

    assert 130 == first, before
    assert "did not come to its end" not in before
    assert "The function bench-3/" in screen
    assert "This one begins anew" in screen
    assert 2 == len(there.entries(RunStarted))


@pytest.mark.skipif(os.name == "nt", reason="kill -9 is a thing of POSIX systems")
def test_a_killed_check_is_taken_up_where_its_trials_were_done(tmp_path: Path) -> None:
    """After kill -9 between two phases nothing done by hand is done again, and the whole check is judged."""
    killed = f'[[answer]]\nrequest = "unplug.ready"\nanswer = "yes"\nrun = {KILLED}\n'
    with bench(tmp_path) as there:
        code, before = there.run(*CHECK, "--full", script=killed)
        phases = [phase.name for phase in there.entries(PhaseEnded)]
        assert (-signal.SIGKILL, "proof_test") == (code, phases[-1]), before
        trials = len(there.entries(Trial))
        code, screen = there.run(*CHECK, "--full", script=answer("far_end.now", "no"))

    assert 4 == code, screen
    assert "Already done in this run and still valid: the proof test." in screen
    assert trials == len(there.entries(Trial)) >= 12
    assert [1, 1] == [len(there.entries(RunStarted)), len(there.entries(RunResumed))]
    (found,) = there.findings(CheckJudged)
    verdicts = {each.name: each.verdict for each in found.criteria}
    assert {Verdict.PASS} == {verdicts[name] for name in ("polarity", "wiggle", "misreads", "unplugged")}
    assert {"identity", "pause"} <= set(found.not_judged)  # as from the start: nothing else is on record
    assert "runout detection after a restart" not in found.not_judged
    assert_same_from_an_import(there)


def test_a_broken_off_run_is_taken_up_again(tmp_path: Path) -> None:
    """Done phases stay done, the entries go on in the same run; its report is the same from an imported book."""
    with bench(tmp_path) as there:
        first, _ = there.run(*INSTALL, script=STOP_AT_LOOP_CHECK)
        second, screen = there.run(*INSTALL, script=STOP_AT_LOOP_CHECK)

    assert (130, 130) == (first, second), screen
    assert "Already done in this run and still valid: the states as found." in screen
    assert 1 == len(there.findings(SwitchesAsFound))
    assert [1, 1] == [len(there.entries(RunStarted)), len(there.entries(RunResumed))]
    assert 1 == len(there.runs_with(RunEnded))
    assert_same_from_an_import(there)


def assert_same_from_an_import(there: Bench) -> None:
    """The report drawn from an exported and imported book is the same to the byte."""
    export, elsewhere = there.folder / "out.jsonl", there.folder / "elsewhere"
    with Book(there.place, SystemClock()) as book:
        export.write_text("".join(f"{line}\n" for line in export_lines(book.chains())))
        (run,) = {record.run for record in book.records(RunEnded)}
        here = write_reports(book, run, there.folder / "here")
    with Book(elsewhere / "book.sqlite3", SystemClock()) as book, export.open("rb") as stream:
        import_entries(book, read_export(stream))
        again = write_reports(book, run, elsewhere)
    assert here
    assert [path.read_bytes() for path in here] == [path.read_bytes() for path in again]
