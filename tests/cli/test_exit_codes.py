"""The one table of exit codes: each is reached by a real command, and no command has a number of its own."""

import ast
import os
import re
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

import commission.cli
from commission.asking.steps import Steps
from commission.cli import Program, main
from commission.cli.endings import code_of
from commission.cli.exit_codes import MEANINGS, SEVERITY, worst
from commission.cli.options import Context, Job, Settings
from commission.cli.running import run_guided
from commission.clock import SystemClock
from commission.desk.base import DeskError
from commission.evidence.runs import RULES, RunEnded
from commission.files.output import OutputError, OutputRefused
from commission.jobs.install import JobResult
from commission.link.base import PortBusy, PortMissing
from commission.records.book import Book, BookError
from commission.records.run_lock import RunUnderWay
from commission.vocabulary import Outcome, Verdict
from tests.cli.bench import Folder, Said
from tests.support.fake_process import running_printer

ROOT = Path(__file__).resolve().parents[2]
CLI = Path(commission.cli.__file__).parent
DWELLS = "G4 P100\n" * 600
SAFE = ("--sensor", "switch", "--wires", "2", "--contact", "NO", "--to", "ground", "--pull", "up", "--absent", "high")
PROGRAM = """
import click
from commission.cli import Program
click.command(cls=Program, places={"broken": "tests.support.broken_command:broken"})(lambda: None)(["broken"])
"""


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Folder:
    """An empty folder."""
    return Folder(tmp_path)


def done(folder: Folder) -> Said:
    """A printer that passed, listed."""
    folder.on_record("install: pass")
    return folder.call("book", "list")


def failed(folder: Folder) -> Said:
    """A printer that failed is due at once."""
    folder.on_record("install: fail")
    return folder.call("book", "due")


def wrong_usage(folder: Folder) -> Said:
    """A command that does not exist."""
    return folder.program("-m", "commission", "nonsense")


def not_finished(folder: Folder) -> Said:
    """A device that is not there."""
    return folder.call("check", "bench-3", "--port", "/dev/nothing-here")


def no_pass(folder: Folder) -> Said:
    """A wiring of which it is not known whether it fails safe."""
    return folder.program("-m", "commission", "wiring", *SAFE, "--pull-by", "module")


def port_busy(folder: Folder) -> Said:
    """A device that a run on another tag has open: that one waits at a question."""
    with running_printer("sound", "--unpaced") as printer:
        slow = folder.script("install.open_port", "yes")
        first = [sys.executable, "-m", "commission", "backup", "bench-4", "--port", printer.link, *slow]
        waiting = '[[answer]]\nrequest = "backup.working_enough"\nanswer = "yes"\nafter_s = 60\n'
        script = folder.place / "operator.toml"
        script.write_text(script.read_text().replace("format = 1\n", f"format = 1\n{waiting}"))
        with subprocess.Popen([*first, "--book", str(folder.book)], cwd=folder.place, stdout=subprocess.DEVNULL) as run:
            try:
                printer.wait_until(lambda _state: "M503" in printer.received(), within_s=30)
                return folder.call("backup", "bench-3", "--port", printer.link, *folder.script())
            finally:
                run.kill()


def printing(folder: Folder) -> Said:
    """A printer with a job from its card under way, met by a timer."""
    folder.on_record("install: pass", consent=True)
    (folder.place / "job.txt").write_text(DWELLS)
    with running_printer("native-port", "--tcp", "0") as printer:
        printer.do("print-card", str(folder.place / "job.txt"))
        return folder.call("check", "bench-3", "--port", printer.link, "--unattended", "--steady", "1")


def no_consent(folder: Folder) -> Said:
    """A timer, and an owner who was never asked."""
    folder.on_record("install: pass")
    return folder.call("check", "bench-3", "--port", "socket://127.0.0.1:9", "--unattended")


def under_way(folder: Folder) -> Said:
    """A second run on a printer that is being worked on."""
    folder.on_record("install: pass")
    with folder.run_under_way():
        return folder.call(*folder.backup_words())


def no_book(folder: Folder) -> Said:
    """A book that is not there."""
    return folder.call("book", "list")


def internal(folder: Folder) -> Said:
    """A command with an error in it, run as all are."""
    return folder.program(
        "-c", PROGRAM.replace("import click", f"import click, sys; sys.path.insert(0, {str(ROOT)!r})", 1)
    )


def stopped(folder: Folder) -> Said:
    """An operator who does not want the port to be opened."""
    return folder.call("backup", "bench-3", "--port", "socket://127.0.0.1:9", *folder.script("install.open_port", "no"))


REACHED: dict[int, tuple[Callable[[Folder], Said], str]] = {
    0: (done, "install  pass  (complete)"),
    1: (failed, "due at once   bench-3: full check"),
    2: (wrong_usage, "There is no command 'nonsense'"),
    3: (not_finished, "There is no port /dev/nothing-here."),
    4: (no_pass, "fail-safe not known"),
    5: (port_busy, "is in use by another program"),
    6: (printing, "A job from its card is under way."),
    7: (no_consent, "No consent to open the port of bench-3 with nobody near is on record."),
    8: (under_way, "A run on bench-3 is under way in another window or by a timer (bench-3/2031-03-14/7)."),
    9: (no_book, "There is no record book"),
    70: (internal, "ZeroDivisionError: an error made on purpose"),
    130: (stopped, "Stopped before a run began."),
}


@pytest.mark.parametrize("code", MEANINGS)
def test_each_code_is_reached_by_a_command(folder: Folder, code: int) -> None:
    """A real command ends with it, says why in a sentence, and shows a trace only for an error of its own."""
    command, words = REACHED[code]
    said = command(folder)

    assert code == said.code, said
    assert words in said.output + said.error
    assert (code == 70) is ("Traceback" in said.error)


def test_an_error_of_the_program_ends_in_a_sentence(folder: Folder) -> None:
    """Behind the trace it is said whose error it is and what to do with it."""
    assert internal(folder).error.rstrip().endswith("with what you did.")


def test_a_run_that_breaks_off_by_an_error_has_its_end(tmp_path: Path) -> None:
    """The book holds an end with the code of an internal error, and the error goes on to whoever calls."""

    def broken(_context: Context) -> Steps[JobResult]:
        yield from ()
        raise ZeroDivisionError("made on purpose")

    settings = Settings(tag="bench-3", port="", person="R. Okafor", book=tmp_path / "book.sqlite3", reports=tmp_path)
    with pytest.raises(ZeroDivisionError):
        run_guided(settings, Job("backup", broken, has_trials=False, has_printer=False))

    with Book(tmp_path / "book.sqlite3", SystemClock()) as book:
        (end,) = [record.entry for record in book.records(RunEnded)]
    assert (Outcome.BROKEN_OFF, Verdict.NOT_JUDGED, 70) == (end.outcome, end.verdict, end.exit_code)
    assert ("Not finished: made on purpose", RULES) == (end.why, end.rules)


@pytest.mark.parametrize(
    ("trouble", "code"),
    [
        (KeyboardInterrupt(), 130),
        (click.Abort(), 130),
        (BookError(""), 9),
        (RunUnderWay(""), 8),
        (OutputRefused(""), 2),
        (OutputError(""), 3),
        (DeskError(""), 2),
        (PortBusy("", ""), 5),
        (PortMissing("", ""), 3),
        (OSError(28, "No space left on device"), 3),
        (BrokenPipeError(), 3),
        (ValueError(), 70),
        (AssertionError(), 70),
    ],
)
def test_each_trouble_has_its_code(trouble: BaseException, code: int) -> None:
    """What the rooms below raise becomes a code of the table; what nobody foresaw is an internal error."""
    assert code == code_of(trouble)


@pytest.mark.parametrize(
    ("codes", "expected"),
    [
        ([], 0),
        ([0, 0], 0),
        ([0, 4, 0], 4),
        ([3, 1, 9], 1),
        ([8, 5, 6], 5),
        ([4, 130], 130),
        ([70, 2], 70),
    ],
)
def test_the_worst_of_several_printers_counts(codes: list[int], expected: int) -> None:
    """What is known to be unsafe comes before what was not done, and that before what is no pass."""
    assert expected == worst(codes)


def test_every_code_has_its_place_among_the_others() -> None:
    """The order of severity holds each code of the table once."""
    assert sorted(MEANINGS) == sorted(SEVERITY)


def test_help_and_manual_show_the_table() -> None:
    """The overview lists every code with its meaning, and the README has the same rows."""
    shown = " ".join(CliRunner().invoke(main, ["--help"]).output.split())
    rows = (ROOT / "README.md").read_text()

    for code, meaning in MEANINGS.items():
        assert f" {code} {meaning}" in shown
        assert f"| {code} | {meaning} |" in rows
    assert ", ".join(map(str, SEVERITY)) in shown
    assert ", ".join(map(str, SEVERITY)) in " ".join(rows.split())


# Nothing but the table has numbers -------------------------------------------------------------------------------


def own_numbers(source: str) -> Iterator[str]:
    """Where a module ends a command with a number of its own, or with the library's."""
    tree = ast.parse(source)
    for node in ast.walk(tree):
        match node:
            case ast.Call(func=ast.Name(id=name) | ast.Attribute(attr=name)):
                ends = name in ("exit", "Exit", "SystemExit", "Ending", "_exit")
                if ends and any(_is_number(each) for given in node.args for each in ast.walk(given)):
                    yield ast.unparse(node)
                if name in ("ClickException", "FileError"):
                    yield f"{name} ends with the library's own number"
            case ast.Assign(targets=[ast.Name(id=name) | ast.Attribute(attr=name)], value=value):
                if "exit_code" in name and _is_number(value):
                    yield ast.unparse(node)
            case ast.FunctionDef(returns=ast.Name(id="int")) | ast.AsyncFunctionDef(returns=ast.Name(id="int")):
                yield from (
                    f"{node.name}: {ast.unparse(each)}"
                    for each in ast.walk(node)
                    if isinstance(each, ast.Return) and any(map(_is_number, _values(each.value)))
                )
    yield from re.findall(r"[Ee]xit code\S*:? \d+|\bcode \d+\b", source)


def _values(node: ast.AST | None) -> list[ast.AST]:
    """What an expression comes to, each way of a choice."""
    if isinstance(node, ast.IfExp):
        return [*_values(node.body), *_values(node.orelse)]
    return [] if node is None else [node]


def _is_number(node: ast.AST) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, int) and not isinstance(node.value, bool)


@pytest.mark.parametrize("path", sorted(CLI.glob("*.py")), ids=lambda path: path.name)
def test_no_command_has_a_number_of_its_own(path: Path) -> None:
    """Outside the table's module no exit code is written as a number, in code or in help."""
    assert path.name == "exit_codes.py" or [] == list(own_numbers(path.read_text()))


@pytest.mark.parametrize(
    "source",
    [
        "context.exit(1)",
        "context.exit(1 if late else PASSED)",
        "raise SystemExit(3)",
        "raise Ending('x', 9)",
        "class A(ClickException):\n    exit_code = 4",
        "def run() -> int:\n    return 2",
        "raise click.ClickException('x')",
        '"""Exit code 0: all in date."""',
    ],
)
def test_a_number_is_noticed(source: str) -> None:
    """Each way of ending a command with a number of its own is found."""
    assert [] != list(own_numbers(source))


def test_the_program_is_what_runs_every_command() -> None:
    """What is shown here of one command holds for all: they go through the same door."""
    assert isinstance(main, Program)


# A book that cannot be used --------------------------------------------------------------------------------------


def missing(folder: Folder) -> str:
    """There is none."""
    return "There is no record book"


def empty(folder: Folder) -> str:
    """A file without a byte."""
    folder.book.touch()
    return "is an empty file, and no record book"


def foreign(folder: Folder) -> str:
    """Another program's database."""
    with sqlite3.connect(folder.book) as theirs:
        theirs.execute("CREATE TABLE things (name TEXT)")
    theirs.close()
    return "is a database of another program"


def text(folder: Folder) -> str:
    """A text of somebody's."""
    folder.book.write_text("change the nozzle\n" * 100)
    return "is no record book, and was left as it is"


def one_byte(folder: Folder) -> str:
    """As little as a file can hold."""
    folder.book.write_bytes(b"x")
    return "is no record book, and was left as it is"


def a_folder(folder: Folder) -> str:
    """A folder of that name."""
    folder.book.mkdir()
    return "is no file, and no record book"


@pytest.mark.parametrize("state", [missing, empty, foreign, text, one_byte, a_folder], ids=lambda state: state.__name__)
@pytest.mark.parametrize(
    "words",
    [
        ("book", "list"),
        ("book", "due"),
        ("book", "show", "bench-3"),
        ("book", "verify"),
        ("book", "export", "-"),
        ("note", "bench-3", "dusty"),
        ("report", "bench-3"),
        ("label", "bench-3"),
        ("overview",),
        ("metrics", "--out", "metrics.txt"),
        ("compare", "bench-3"),
        ("diagnose", "bench-3"),
        ("restore", "bench-3", "--port", "socket://127.0.0.1:9"),
        ("check", "bench-3", "--port", "socket://127.0.0.1:9", "--unattended"),
    ],
    ids=lambda words: " ".join(words[:2]),
)
def test_a_book_that_cannot_be_used_is_told_alike(
    folder: Folder, words: tuple[str, ...], state: Callable[[Folder], str]
) -> None:
    """Every command that needs one ends with 9 and a sentence, and leaves what is there to the byte."""
    sentence = state(folder)
    before = folder.book.read_bytes() if folder.book.is_file() else b""
    said = CliRunner().invoke(main, [*words, "--book", str(folder.book)])

    assert (9, True) == (said.exit_code, sentence in " ".join(said.output.split())), said.output
    assert before == (folder.book.read_bytes() if folder.book.is_file() else b"")
    assert [folder.book] * (state is not missing) == list(folder.place.iterdir())


@pytest.mark.parametrize("state", [empty, foreign, text, one_byte, a_folder], ids=lambda state: state.__name__)
def test_a_run_begins_in_no_such_book(folder: Folder, state: Callable[[Folder], str]) -> None:
    """A guided run, which may begin a book, does not write into what is none."""
    words = folder.backup_words()
    sentence = state(folder)
    before = folder.book.read_bytes() if folder.book.is_file() else b""
    said = folder.call(*words)

    assert (9, True) == (said.code, sentence in said.error), said
    assert before == (folder.book.read_bytes() if folder.book.is_file() else b"")


@pytest.mark.skipif(os.name == "nt", reason="the size of files cannot be limited there")
def test_a_full_disk_is_told_as_the_books_trouble(folder: Folder) -> None:
    """The disk is one that takes 1000 bytes a file: the system's limit for a process."""
    folder.on_record("install: pass")
    code = "import resource, sys; resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))"
    code += "; from commission.cli import main; main(sys.argv[1:])"
    said = folder.program("-c", code, "note", "bench-3", "dusty", "--book", str(folder.book))

    assert (9, True) == (said.code, "The record book" in said.error), said
    assert "Traceback" not in said.error


@pytest.mark.parametrize("question", ["install.open_port", "backup.working_enough"])
def test_a_stop_does_not_hide_what_is_open(folder: Folder, question: str) -> None:
    """A printer that failed before is still failed after a stop, before the run begins or in it: 1, and it is said."""
    folder.on_record("install: fail")
    with running_printer("sound", "--unpaced") as printer:
        said = folder.call("backup", "bench-3", "--port", printer.link, *folder.script(question, "operator stop"))

    assert 1 == said.code, said
    assert "Found wrong by earlier runs and not cleared since: 1." in said.output
