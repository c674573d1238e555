"""The Tab key in real shells: commands, subcommands and the TAGs of the book are completed, quickly and in silence."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from commission.cli import ASKS_FOR_WORDS, COMMANDS, main
from commission.clock import SystemClock
from commission.records.book import Book
from commission.records.history import tags
from commission.records.tags import tags_at_a_glance
from tests.cli.bench import Folder, Said
from tests.support.made import begun, ended
from tests.support.patience import PATIENCE_S
from tests.support.programs import needs_program

pexpect = pytest.importorskip("pexpect", reason="needs the library that holds a terminal")

SHELLS = {
    "bash": (["--norc", "--noprofile", "-i"], 'eval "$(commission completion bash)"'),
    "zsh": (["-f", "-i"], 'autoload -Uz compinit; compinit -u -D; eval "$(commission completion zsh)"'),
    "fish": (["--no-config", "-i"], "commission completion fish | source"),
}
"""How each shell is started without anybody's own settings, and told of the program."""
TAGS = ("bench-3", "left; of 2 & 3")


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Folder:
    """A workshop's folder with a book of two printers; one has a name that a shell would cut up."""
    folder = Folder(tmp_path)
    with Book(folder.book, SystemClock()) as book:
        for tag in TAGS:
            book.append(f"{tag}/2031-03-14/1", begun(f"{tag}/2031-03-14/1"))
            book.append(f"{tag}/2031-03-14/1", ended())
    return folder


@contextmanager
def at_a_shell(shell: str, folder: Folder) -> Iterator[Any]:
    """The shell at a terminal, once it has read the function; what it is told last is the end of it."""
    words, told = SHELLS[shell]
    own = {"PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}", "HOME": str(folder.place)}
    own |= {"TERM": "xterm", "COMMISSION_BOOK": str(folder.book), "LC_ALL": "C.UTF-8"}
    terminal = pexpect.spawn(
        needs_program(shell),
        words,
        env={**os.environ, **own},
        encoding="utf-8",
        timeout=PATIENCE_S,
        dimensions=(24, 200),
        cwd=str(folder.place),
    )
    try:
        terminal.sendline(f"{told}; echo rea''dy")  # what is typed is not what is printed
        terminal.expect("ready")
        yield terminal
    finally:
        terminal.close(force=True)


def asked(folder: Folder, line: str) -> Said:
    """What the program answers to bash when Tab is pressed behind the line."""
    code = (
        "import os, sys\nfrom commission.__main__ import run\n"
        f"os.environ.update({ASKS_FOR_WORDS}='bash_complete', COMP_WORDS=sys.argv[1], COMP_CWORD=sys.argv[2])\n"
        "run()"
    )
    return folder.program("-c", code, line, str(len(line.split(" ")) - 1))


@pytest.mark.parametrize("shell", SHELLS)
@pytest.mark.parametrize(("begun_so", "tag"), [("be", TAGS[0]), ("le", TAGS[1])])
def test_tab_completes_down_to_the_tag(shell: str, begun_so: str, tag: str, folder: Folder) -> None:
    """Command, subcommand and TAG, each begun and completed; what comes of it runs, with the tag as one word."""
    with at_a_shell(shell, folder) as terminal:
        terminal.send(f"commission boo\tlis\t{begun_so}\t\r")
        terminal.expect_exact(f"{tag}/2031-03-14/1  install  pass")


@pytest.mark.parametrize("shell", SHELLS)
def test_tab_completes_options_and_their_words(shell: str, folder: Folder) -> None:
    """`--form` and then `mark`: the text is written, the other formats are not."""
    with at_a_shell(shell, folder) as terminal:
        terminal.send("commission rep\tbe\t--form\tmark\t\r")
        terminal.expect_exact(".md")

    assert [".md"] == [each.suffix for each in folder.place.glob("bench-3-*")]


def test_the_book_named_before_is_asked(folder: Folder, tmp_path: Path) -> None:
    """`--book` on the line counts, as it does for the command."""
    assert "plain,bench-3" in asked(folder, f"commission label --book {folder.book} ").output.splitlines()


def test_an_option_that_takes_a_tag_completes_it(folder: Folder) -> None:
    """`wiring --record` offers the tags on record, as an argument TAG does."""
    said = asked(folder, f"commission wiring --book {folder.book} --record be").output.splitlines()

    assert ["plain,bench-3"] == said


@pytest.mark.parametrize("what", ["missing", "empty", "foreign", "a folder"])
def test_without_a_book_nothing_is_offered(what: str, tmp_path: Path) -> None:
    """No traceback and no word in the middle of what somebody types."""
    folder, place = Folder(tmp_path), tmp_path / "other"
    if what == "a folder":
        place.mkdir()
    elif what != "missing":
        place.write_text("" if what == "empty" else "no database " * 90)

    assert Said(0, "\n", "") == asked(folder, f"commission label --book {place} ")


def test_tag_with_signs_of_a_shell_is_not_offered(folder: Folder) -> None:
    """The libraries' functions for the shells would cut it up, or a shell would run what stands in it."""
    with Book(folder.book, SystemClock()) as book:
        for tag in ("$(touch x)", "a,b", "b*", "it's"):
            book.append(f"{tag}/2031-03-14/1", begun(f"{tag}/2031-03-14/1"))

    said = asked(folder, f"commission label --book {folder.book} ").output.splitlines()

    assert ["plain,bench-3", "plain,'left; of 2 & 3'"] == said


def test_tags_at_a_glance_are_those_of_the_book(folder: Folder) -> None:
    """Read without the library of the records, and the same; a tag may hold strokes."""
    with Book(folder.book, SystemClock()) as book:
        for number in ("rack/2/2031-03-14/1", "rack/2/2031-03-14/2", "bench-30/2031-03-14/1"):
            book.append(number, begun(number))

        assert tags(book) == tags_at_a_glance(folder.book)


def test_tab_loads_no_library_that_is_slow(folder: Folder) -> None:
    """The records' database library alone would take longer than a person waits for a key."""
    code = (
        "import sys\nfrom pathlib import Path\nfrom commission.cli.tag import offered_tags\nimport click\n"
        "context = click.Context(click.Command('label'))\ncontext.params = {'book': Path(sys.argv[1])}\n"
        "print([each.value for each in offered_tags(context, click.Argument(['tag']), 'be')])\n"
        "print([name for name in ('sqlalchemy', 'msgspec', 'rich', 'serial') if name in sys.modules])"
    )

    assert "['bench-3']\n[]\n" == folder.program("-c", code, str(folder.book)).output


def test_words_of_the_overview_are_its_commands(folder: Folder) -> None:
    """Every command is offered, in the order of the overview."""
    said = asked(folder, "commission ").output.split()

    assert [f"plain,{name}" for name in COMMANDS] == said


@pytest.mark.parametrize(
    ("typed", "answer"),
    [
        (("book", "lsit"), "There is no command 'lsit'. Do you mean 'list'?"),
        (("roster", "prpose"), "There is no command 'prpose'. Do you mean 'propose'?"),
        (("report", "bench-3", "--fromat", "json"), "--format"),
        (("report", "benhc-3"), "No printer benhc-3 is on record. Do you mean 'bench-3'? On record: bench-3, "),
        (("label", "Bench-3"), "No printer Bench-3 is on record. Do you mean 'bench-3'?"),
        (("note", "benhc-3", "looked at"), "No printer benhc-3 is on record. Do you mean 'bench-3'?"),
        (("compare", "benhc-3"), "No printer benhc-3 is on record. Do you mean 'bench-3'?"),
        (("restore", "benhc-3", "--port", "x"), "No printer benhc-3 is on record. Do you mean 'bench-3'?"),
        (("diagnose", "benhc-3"), "No printer benhc-3 is on record. Do you mean 'bench-3'?"),
        (("book", "show", "bench-3/2031-03-14/2"), "Do you mean 'bench-3/2031-03-14/1'?"),
        (("label", "zzz"), "No printer zzz is on record. On record: bench-3, left; of 2 & 3."),
    ],
)
def test_mistyped_names_the_nearest(typed: tuple[str, ...], answer: str, folder: Folder) -> None:
    """Commands of a group, options and tags; where nothing is near, what there is."""
    done = CliRunner().invoke(main, typed, env={"COMMISSION_BOOK": str(folder.book)})

    assert 2 == done.exit_code
    assert answer in " ".join(done.output.split())
