"""How long lines are shown."""

import io

from commission.folding import folded, for_reader

LINE = "     5  2031-03-14 09:30:00  finding  the switch is direct, 2703 to 1 against the next explanation"


def test_lines_end_between_words() -> None:
    """A long item goes on under its beginning, no word is cut, and every line fits."""
    lines = folded(LINE, 40, " " * 8)

    assert LINE.split() == " ".join(lines).split()
    assert all(len(line) <= 40 for line in lines)
    assert lines[0].startswith("     5  ")
    assert all(line.startswith(" " * 8) for line in lines[1:])


def test_what_fits_is_left_as_it_is() -> None:
    """Blanks inside an item that fits stay, as a bar drawn in characters needs them."""
    bar = "  2031-03-14  ####      |  12 ms"

    assert [bar] == folded(bar, 80, "    ")


def test_a_very_narrow_terminal_still_gets_words() -> None:
    """No width makes the hanging indent leave no room."""
    assert LINE.split() == " ".join(folded(LINE, 5, " " * 14)).split()


def test_an_indented_text_stays_indented() -> None:
    """A paragraph of a page goes on below its beginning."""
    assert ["  The pause comes", "  after 25 mm."] == folded("  The pause comes after 25 mm.", 20, "")


def test_a_long_path_stays_whole() -> None:
    """Copied from the terminal, a path must come without a line's end in it."""
    path = "/home/bench/records/" + "of-this-year/" * 8

    assert ["Written:", path] == folded(f"Written: {path}", 40, "")


def test_a_file_keeps_its_lines_whole() -> None:
    """What goes into a pipe or a file is searched and compared by line: none is cut."""
    assert LINE == for_reader(io.StringIO(), LINE, "    ")
