"""Every option that writes a file: what it may write over, and that there is only one door to the disk."""

import ast
import os
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import click
import pytest

import commission
from commission.cli import COMMANDS, main
from commission.files.kinds import CALENDAR, DATA, EXPORT, METRICS, OVERVIEW, PAGE, PICTURE, TEXT, Kind
from tests.cli.bench import Folder

posix = pytest.mark.skipif(os.name == "nt", reason="links, pipes and devices of POSIX systems")
SAFE = ("--sensor", "switch", "--wires", "2", "--contact", "NO", "--to", "ground", "--pull", "up", "--absent", "high")
RESERVE = ("--trip-to-gear", "40")
Words = Callable[[Folder, str], Sequence[str]]
WRITERS: dict[str, tuple[Kind, Words]] = {
    "wiring --svg": (PICTURE, lambda _folder, out: ("wiring", *SAFE, "--svg", out)),
    "reserve --svg": (PICTURE, lambda _folder, out: ("reserve", *RESERVE, "--svg", out)),
    "label --svg": (PICTURE, lambda folder, out: ("label", "bench-3", "--svg", out, "--book", str(folder.book))),
    "book due --ics": (CALENDAR, lambda folder, out: ("book", "due", "--ics", out, "--book", str(folder.book))),
    "overview --html": (OVERVIEW, lambda folder, out: ("overview", "--html", out, "--book", str(folder.book))),
    "metrics --out": (METRICS, lambda folder, out: ("metrics", "--out", out, "--book", str(folder.book))),
    "book export": (EXPORT, lambda folder, out: ("book", "export", out, "--book", str(folder.book))),
}
"""Each option that names a file to write, the kind of file, and a command with it."""

FOLDERS = {"report --out", "demo --folder", "--reports"}
"""The options that name a folder; what is written into it goes through the same door."""

READS = {
    "book join OTHER",
    "--roster",
    "book verify --heads",
    "--operator",
    "--from",
    "--before",
    "--after",
    "book import FILE",
    "read FILE",
}
BOOKS = {"--book"}


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Folder:
    """A folder with a book in which bench-3 passed."""
    folder = Folder(tmp_path)
    folder.on_record("install: pass")
    return folder


def run(folder: Folder, writer: str, out: str) -> tuple[int, str]:
    """The command with that output; its code and all it says."""
    said = folder.program("-m", "commission", *WRITERS[writer][1](folder, out))
    return said.code, " ".join((said.output + said.error).split())


@pytest.mark.parametrize("writer", WRITERS)
def test_an_output_is_written_and_replaced(folder: Folder, writer: str) -> None:
    """The first time and the next: a file of the right kind that bears its mark."""
    for _ in range(2):
        code, said = run(folder, writer, "out")
        assert code == 0, said
    assert WRITERS[writer][0].is_ours((folder.place / "out").read_bytes())


@pytest.mark.parametrize("writer", WRITERS)
def test_an_output_destroys_no_book(folder: Folder, writer: str) -> None:
    """Named as an output, the book is refused as wrong usage and is the same to the byte."""
    before = folder.book.read_bytes()
    code, said = run(folder, writer, "book.sqlite3")

    assert (2, True) == (code, "book.sqlite3 is a record book: nothing is written over it" in said), said
    assert before == folder.book.read_bytes()


@posix
@pytest.mark.parametrize("writer", WRITERS)
@pytest.mark.parametrize("link", ["hard", "symbolic"])
def test_an_output_destroys_no_book_by_a_link(folder: Folder, writer: str, link: str) -> None:
    """A link that looks like a fitting file leads to the same refusal."""
    before, name = folder.book.read_bytes(), folder.place / "due.ics"
    name.hardlink_to(folder.book) if link == "hard" else name.symlink_to("book.sqlite3")
    code, said = run(folder, writer, "due.ics")

    assert (2, True) == (code, "is a record book" in said), said
    assert before == folder.book.read_bytes()


@pytest.mark.parametrize("writer", WRITERS)
def test_an_output_spares_other_files(folder: Folder, writer: str) -> None:
    """Somebody's own file is refused with what to do."""
    (folder.place / "README.md").write_text("mine")
    code, said = run(folder, writer, "README.md")

    assert (2, True) == (code, "README.md is there already" in said), said
    assert "mine" == (folder.place / "README.md").read_text()


@posix
@pytest.mark.parametrize("writer", WRITERS)
def test_an_output_spares_the_lock_of_a_run(folder: Folder, writer: str) -> None:
    """What says that a run is under way goes on saying so."""
    with folder.run_under_way():
        (lock,) = (folder.place / "book.sqlite3.runs").iterdir()
        before = lock.read_bytes()
        code, said = run(folder, writer, str(lock))
        listed = folder.call(*folder.backup_words())

    assert (2, before) == (code, lock.read_bytes()), said
    assert 8 == listed.code


@posix
@pytest.mark.parametrize("writer", WRITERS)
def test_an_output_goes_into_a_pipe(folder: Folder, writer: str) -> None:
    """/dev/stdout is the pipe behind it, and what was said before is not lost."""
    command = WRITERS[writer][1](folder, "/dev/stdout")
    said = folder.program("-m", "commission", *command)

    marks = {PICTURE: "<!-- commission: picture -->", CALENDAR: "PRODID:-//commission", EXPORT: '{"format":'}
    marks |= {OVERVIEW: "<!doctype html>", METRICS: "# TYPE commission_overview_timestamp_seconds"}
    assert 0 == said.code
    assert 1 == said.output.count(marks[WRITERS[writer][0]])


@posix
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
@pytest.mark.parametrize("writer", WRITERS)
def test_a_full_device_ends_in_a_sentence(folder: Folder, writer: str) -> None:
    """What cannot be written is not finished, and said so."""
    code, said = run(folder, writer, "/dev/full")

    assert (3, True) == (code, "/dev/full cannot be written: No space left on device." in said), said
    assert "Traceback" not in said


@posix
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
@pytest.mark.parametrize("words", [("book", "list"), ("book", "due"), ("book", "export", "-"), ("book", "verify")])
def test_a_full_output_ends_in_a_sentence(folder: Folder, words: Sequence[str]) -> None:
    """Also where the shell sent the screen into a full device."""
    code = "import os, sys; os.dup2(os.open('/dev/full', os.O_WRONLY), 1)"
    code += "; from commission.cli import main; main(sys.argv[1:])"
    said = folder.program("-c", code, *words, "--book", str(folder.book))

    assert 3 == said.code
    assert "No space left on device" in said.error
    assert "Traceback" not in said.error


def test_a_report_replaces_only_reports(folder: Folder) -> None:
    """A foreign file with the name of a report is spared, and then no file of the report is written."""
    out, name = folder.place / "out", "bench-3-2031-03-14-1"
    first = folder.call("report", "bench-3", "--out", "out")
    again = folder.call("report", "bench-3", "--out", "out")
    marks = [
        kind.is_ours((out / f"{name}.{e}").read_bytes()) for e, kind in {"html": PAGE, "md": TEXT, "json": DATA}.items()
    ]
    for path in out.iterdir():
        path.unlink()
    (out / f"{name}.json").write_text("mine")
    spared = folder.call("report", "bench-3", "--out", "out")

    assert (0, 0, 2) == (first.code, again.code, spared.code)
    assert [True, True, True] == marks
    assert f"{name}.json is there already, and it is no JSON report that this tool wrote" in spared.error
    assert [f"{name}.json"] == [path.name for path in out.iterdir()]


def test_a_folder_that_cannot_be_made_ends_in_a_sentence(folder: Folder) -> None:
    """A report folder or a demonstration's folder behind a file is named."""
    (folder.place / "file").write_text("mine")
    for said in (
        folder.call("report", "bench-3", "--out", "file/reports"),
        folder.program("-m", "commission", "demo", "--folder", "file/demo"),
    ):
        assert 3 == said.code, said
        assert "cannot be made: Not a directory." in said.error
        assert "Traceback" not in said.error


def test_an_unwritten_report_changes_no_verdict(folder: Folder) -> None:
    """Where the reports cannot be written the run has its one end, and it is said how to draw them later."""
    (folder.place / "file").write_text("mine")
    said = folder.call(*folder.backup_words("bench-4"), "--reports", "settings")
    number = next(line for line in said.output.splitlines() if "Report: " in line).split("bench-4-")[1].split(".")[0]
    assert 0 == said.code, said
    (folder.place / "settings" / f"bench-4-{number.replace('-1-', '-2-')}.html").write_text("mine")
    again = folder.call(*folder.backup_words("bench-4"), "--reports", "settings")

    assert 0 == again.code, again
    assert "No report was written: settings/bench-4-" in again.output
    day, mark = number.split("-1-")
    assert f"Draw its report with: commission report bench-4 --run bench-4/{day}/2-{mark} --out FOLDER" in again.output
    listed = folder.call("book", "list", "bench-4").output
    assert 2 == listed.count("backup  pass  (complete)"), listed
    assert 0 == folder.call("report", "bench-4", "--run", f"bench-4/{day}/2-{mark}", "--out", "elsewhere").code


# There is one door -----------------------------------------------------------------------------------------------


def path_options() -> Iterator[tuple[str, str]]:
    """Every option and argument that takes a file or a folder: its command, and how it is written."""
    group = main
    assert isinstance(group, click.Group)
    for name in COMMANDS:
        command = group.get_command(click.Context(group), name)
        assert command is not None
        below = command.commands.values() if isinstance(command, click.Group) else [command]
        for each in below:
            path = name if each is command else f"{name} {each.name}"
            for parameter in each.params:
                if isinstance(parameter.type, click.Path):
                    written = parameter.opts[0] if isinstance(parameter, click.Option) else str(parameter.name).upper()
                    yield path, written


def test_every_option_with_a_file_is_known_here() -> None:
    """A new option that writes gets its row above; then it is held to the same rules."""
    known = set(WRITERS) | FOLDERS | READS | BOOKS
    unknown = [
        f"{command} {written}"
        for command, written in path_options()
        if not known & {written, f"{command} {written}", command}
    ]

    assert [] == unknown


DOORS = (
    "commission/files/output.py",
    "commission/files/kept.py",
    "commission/records/heads.py",
    "commission/records/run_lock.py",
)
"""The first is for whatever a person names; the others keep what lies beside the book, or beside all books."""


def writes(source: str) -> Iterator[str]:
    """Where a module opens, makes or renames a file by itself."""
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Call(func=ast.Attribute(value=ast.Name(id="formatter"))):
                continue  # a page of help
            case ast.Call(func=ast.Attribute(attr="write_text" | "write_bytes" | "NamedTemporaryFile" | "mkstemp")):
                yield ast.unparse(node)
            case ast.Call(func=ast.Name(id="open" | "open_file") | ast.Attribute(attr="open" | "open_file" | "fdopen")):
                modes = [each.value for each in ast.walk(node) if isinstance(each, ast.Constant)]
                if any(
                    isinstance(mode, str) and mode and set(mode) <= set("wxab+t") and mode[0] in "wxa" for mode in modes
                ):
                    yield ast.unparse(node)


@pytest.mark.parametrize(
    "path",
    sorted(Path(commission.__file__).parent.rglob("*.py")),
    ids=lambda path: str(path.relative_to(Path(commission.__file__).parent)),
)
def test_there_is_one_door_to_the_disk(path: Path) -> None:
    """No other module writes a file for a person by itself."""
    here = path.relative_to(Path(commission.__file__).parents[1]).as_posix()

    assert here in DOORS or [] == list(writes(path.read_text()))


@pytest.mark.parametrize(
    "source", ["path.write_text('x')", "path.open('wb')", "open(path, 'a')", "click.open_file(path, mode='w')"]
)
def test_another_door_is_noticed(source: str) -> None:
    """Each usual way of writing a file is found."""
    assert [] != list(writes(source))
