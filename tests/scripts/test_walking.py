"""The person of `scripts/walk.py` reads what stands on a screen, and notices what does not fit there."""

import pyte
import pytest

from commission.desk.panel import Space, panel
from scripts.walking.eyes import Eyes, Size, in_words
from scripts.walking.panels import Panel
from scripts.walking.person import Habit, NotUnderstood, Person
from tests.desk.requests import COUNTING, DWELLING, INSERT, WIGGLE, WITHDRAW


def eyes(text: str, columns: int = 30, rows: int = 5) -> Eyes:
    """A screen on which this was printed."""
    seen = Eyes(Size(columns, rows))
    pyte.Stream(seen).feed(text.replace("\n", "\r\n"))
    return seen


def drawn(columns: int, rows: int, *asked: object) -> Panel:
    """The desk's own panel, as it is read off a screen of that size."""
    request, status = asked
    lines = [text for _, text in panel(request, status, (), Space(columns, rows))]  # type: ignore[arg-type]
    return Panel.of(lines)


@pytest.mark.parametrize("size", [(80, 24), (60, 20), (200, 60)])
def test_a_large_word_is_read_as_a_word(size: tuple[int, int]) -> None:
    """In large letters and in spaced capitals a prompt says the same; its number makes it another wish."""
    assert "Prompt 1 of 27: INSERT THE FILAMENT" == drawn(*size, INSERT, COUNTING).asks
    assert "Prompt 2 of 27: WITHDRAW THE FILAMENT" == drawn(*size, WITHDRAW, COUNTING).asks
    assert "WIGGLE THE CABLE" in drawn(*size, WIGGLE, DWELLING).asks


def test_keep_still_wants_nothing_of_the_hands() -> None:
    """The dwell repeats the order, which is not to be done again."""
    assert "Prompt 1 of 27: " == drawn(80, 24, INSERT, DWELLING).asks


def test_lines_that_left_the_screen_are_kept() -> None:
    """What ran off the top can still be counted, and where typing is waited for is seen."""
    seen = eyes("one\ntwo\nthree\nfour\nfive\ny or n: ")

    assert ["one"] == seen.gone
    assert "y or n:" == seen.prompt
    assert ["two", "three", "four", "five", "y or n:"] == seen.since(1)


def test_a_line_wider_than_the_terminal_is_noticed() -> None:
    """Of what the terminal had to break the part that fitted is named."""
    assert ["0123456789"] == eyes("0123456789ab\n", columns=10).wrapped
    assert [] == eyes("0123456789\nab\n", columns=10).wrapped


def test_a_cut_line_of_a_panel_is_noticed() -> None:
    """A line that fills its place to the last column may lack its end."""
    full = Panel(["│ 0123456789012345 │", "│      narrow      │"], ["Prompt 1", "q: stop"])

    assert ["│ 0123456789012345 │"] == full.cut(21)


def test_frames_are_not_read_as_words() -> None:
    """A framed caution says what stands in the frame."""
    assert "DANGER Hot nozzle" == in_words(["╭─ DANGER ─╮", "│ Hot nozzle │", "╰──────────╯"])


def test_what_nobody_has_an_answer_to_ends_the_walk() -> None:
    """The question is in the text of the error."""
    person = Person((Habit("your name", "R. Okafor"),))

    with pytest.raises(NotUnderstood, match="Which contact"):
        person.answers("Which contact is wired?", "", 0.0)


def test_reading_is_counted_and_does_not_pass_for_the_printer() -> None:
    """Forty words take ten seconds at four a second; the line is typed half a second after the question."""
    person = Person((Habit("your name", "R"),))

    answer = person.answers("your name", "word " * 40, 100.0)

    assert ["R"] == [deed.typed for deed in answer.deeds]
    assert pytest.approx(100.5) == answer.deeds[-1].at_s
    assert pytest.approx(10) == answer.reads_s
    assert pytest.approx(1 + 2 / 3 - 0.5) == answer.works_s
