"""How the commands that only look say what they found."""

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

import commission.cli
from commission.cli import main
from commission.clock import SystemClock
from commission.records.book import Book


def test_a_problem_keeps_its_usage_and_its_exit_code() -> None:
    """Off a terminal a problem is said in one line, with the usage of its command and the code it had."""
    runner = CliRunner()
    wrong = runner.invoke(main, ["reserve", "--trip-to-gear", "far"])
    missing = runner.invoke(main, ["book", "list", "--book", "/nowhere/book.sqlite3"])

    assert 2 == wrong.exit_code
    assert wrong.output.startswith("Usage: commission reserve [OPTIONS]\n")
    assert "Error: Invalid value for '--trip-to-gear': 'far' is no number that can be measured.\n" in wrong.output
    assert 9 == missing.exit_code
    assert 1 == missing.output.count("\n")


STEERS = "no \x1b]0;x\x07\x9b2J\u202e"
"""A window title, a cleared screen in one byte of C1, and letters that run backwards (ECMA-48; Unicode 9.0, UAX 9)."""
SHOWN = r"no \x1b]0;x\x07\x9b2J\u202e"


@pytest.mark.parametrize(
    "words",
    [
        ("note", STEERS, "hi"),
        ("book", "list", STEERS),
        ("book", "show", STEERS),
        ("report", STEERS),
        ("label", STEERS),
        ("compare", STEERS),
        ("check", "bench-3", "--port", STEERS),
        ("backup", "bench-3", "--from", STEERS),
        ("book", "import", STEERS),
        ("book", "list", "--book", STEERS),
        ("book", "due", "--on", STEERS),
        ("overview", "--roster", STEERS),
        ("reserve", "--flow", STEERS),
        ("reserve", f"--{STEERS}"),
        ("wiring", "--sensor", STEERS),
        ("read", STEERS),
        ("help", STEERS),
        ("book", STEERS),
        (STEERS,),
        (f"--{STEERS}",),
    ],
    ids=" ".join,
)
def test_a_typed_word_cannot_steer_the_terminal(words: tuple[str, ...], tmp_path: Path) -> None:
    """Whatever word was typed comes back with its escapes to be seen, and none to be obeyed."""
    book = tmp_path / "book.sqlite3"
    Book(book, SystemClock()).close()

    said = CliRunner(env={"COMMISSION_BOOK": str(book)}).invoke(main, words)

    assert 0 != said.exit_code
    assert SHOWN in said.output
    assert not re.search(r"[^\n -~]", said.output)


def test_only_one_module_prints_for_the_commands() -> None:
    """What goes to a terminal past the desk goes through `telling`, which makes it printable."""
    folder = Path(commission.cli.__file__).parent
    prints = {file.name for file in folder.glob("*.py") if re.search(r"\b(?:click\.s?echo|print)\(", file.read_text())}

    assert {"telling.py"} == prints
