"""How the commands that only look say what they found."""

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
