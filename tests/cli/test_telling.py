"""How the commands that only look say what they found."""

from click.testing import CliRunner

from commission.cli import main
from commission.cli.telling import wrapped

LINE = "     5  2031-03-14 09:30:00  finding  the switch is direct, 2703 to 1 against the next explanation"


def test_lines_end_between_words() -> None:
    """A long item goes on under its beginning, no word is cut, and every line fits."""
    lines = wrapped(LINE, 40, " " * 8)

    assert LINE.split() == " ".join(lines).split()
    assert all(len(line) <= 40 for line in lines)
    assert lines[0].startswith("     5  ")
    assert all(line.startswith(" " * 8) for line in lines[1:])


def test_what_fits_is_left_as_it_is() -> None:
    """Blanks inside an item that fits stay, as a bar drawn in characters needs them."""
    bar = "  2031-03-14  ####      |  12 ms"

    assert [bar] == wrapped(bar, 80, "    ")


def test_a_very_narrow_terminal_still_gets_words() -> None:
    """No width makes the hanging indent leave no room."""
    assert LINE.split() == " ".join(wrapped(LINE, 5, " " * 14)).split()


def test_a_problem_keeps_its_usage_and_its_exit_code() -> None:
    """Off a terminal a problem is said in one line, with the usage of its command and the code it had."""
    runner = CliRunner()
    wrong = runner.invoke(main, ["reserve", "--trip-to-gear", "far"])
    missing = runner.invoke(main, ["book", "list", "--book", "/nowhere/book.sqlite3"])

    assert 2 == wrong.exit_code
    assert wrong.output.startswith("Usage: main reserve [OPTIONS]\n")
    assert "Error: Invalid value for '--trip-to-gear': 'far' is no number that can be measured.\n" in wrong.output
    assert 9 == missing.exit_code
    assert 1 == missing.output.count("\n")
