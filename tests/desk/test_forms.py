"""Several questions on one sheet: filled in by one line, corrected by number, and closed."""

import asyncio

import pytest

from commission.asking.form import Answers, Closing, Form, FormRow
from commission.asking.request import Choose, Confirm, Enter, EntryKind, Option
from commission.desk.answers import NotAnAnswer
from commission.desk.forms import Filling
from tests.desk.places import place as drawn
from tests.desk.test_plain import place as plain

LENGTH = Enter("path.length", "How long is it?", EntryKind.NUMBER, "mm", 0, 1000)
NAME = Enter("path.name", "What is it called?")
SIDE = Choose("path.side", "On which side?", (Option("left", "left"), Option("right", "right")))
FREE = Confirm("path.free", "Is it free?")


def rows(given: Answers) -> tuple[FormRow, ...]:
    """A length and a name to be given, and two that are usual; a path on the right has no fourth row."""
    free = () if given.get(SIDE.key) == "right" else (FormRow(FREE, "Free", usual=True),)
    return FormRow(LENGTH, "Length"), FormRow(NAME, "Name"), FormRow(SIDE, "Side", "left"), *free


SHEET = Form("path", "The path", rows, ("Measure it first.",))


def test_one_line_fills_what_is_missing() -> None:
    """The values stand in the order of the rows, and a comma inside a number is no separator."""
    filling = Filling(SHEET)

    assert "Type in one line, with commas (- for none): Length (mm, from 0 to 1000), Name" == filling.asked
    assert () == filling.take("12,5, upper one")
    assert not filling.closed
    assert [
        ("1.", "Length: 12.5 mm"),
        ("2.", "Name: upper one"),
        ("3.", "Side: left"),
        ("4.", "Free: yes"),
    ] == filling.rows


def test_a_slip_is_corrected_by_its_number() -> None:
    """Numbers in one line name what is answered otherwise; the rows follow the answers; Enter closes."""
    filling = Filling(SHEET)
    filling.take("12; upper one")

    assert (LENGTH, SIDE) == filling.take("1 3")
    filling.give(LENGTH, "13")
    filling.give(SIDE, "right")
    assert ["Length: 13 mm", "Name: upper one", "Side: right"] == [text for _, text in filling.rows]
    assert not filling.closed
    assert () == filling.take("")
    assert filling.closed
    assert {"path.length": "13", "path.name": "upper one", "path.side": "right"} == filling.answers


@pytest.mark.parametrize("typed", ["", "12", "12, 13, 14", "short, upper one"])
def test_a_line_that_does_not_fill_it_changes_nothing(typed: str) -> None:
    """Too few values, too many, or one that is no answer to its question."""
    filling = Filling(SHEET)

    with pytest.raises(NotAnAnswer):
        filling.take(typed)
    assert [LENGTH, NAME] == [row.question for row in filling.missing]


def test_enter_says_yes_to_no_observation() -> None:
    """A sheet of what was looked at is closed by a typed yes and by nothing else."""
    looked_at = Form("looked", "Look", lambda _given: (FormRow(FREE, "Free", usual=True),), closing=Closing.YES)
    filling = Filling(looked_at)

    for typed in ("", "2", "no"):
        with pytest.raises(NotAnAnswer, match="Type y, or the numbers"):
            filling.take(typed)
    filling.take("y")
    assert filling.closed
    assert {"path.free": True} == filling.answers


def test_a_sheet_that_is_shown_next_closes_once_it_is_filled() -> None:
    """What was understood is said; a row that has its answer is changed before, by the word for it."""
    filling = Filling(Form("path", "The path", rows, closing=Closing.FILLED))

    assert (SIDE,) == filling.take("change 3")
    filling.give(SIDE, "right")
    filling.take("12, upper one")
    assert filling.closed
    assert ["Understood: Length: 12 mm, Name: upper one, Side: right."] == filling.understood


LONG = Form(
    "long",
    "What is done",
    lambda given: (
        FormRow(NAME, "Name"),
        *(FormRow(Confirm(f"long.{place}", f"Part {place}?"), f"Part {place}", usual=True) for place in range(1, 7)),
        *(() if given.get("long.6") is False else (FormRow(SIDE, "Side", "left"),)),
    ),
)


def test_a_long_sheet_shows_what_is_new_again() -> None:
    """Rows that are as they were seen last are counted; the word for all of them shows them again."""
    filling = Filling(LONG)

    assert 8 == len(filling.rows)
    filling.take("upper one")
    assert [("1.", "Name: upper one")] == filling.rows
    assert "The other 7 rows are as before. Does it stand?" == filling.asked
    assert "Enter to keep, number to change, all to see all rows: " == filling.prompt
    assert () == filling.take("all")
    assert 8 == len(filling.rows)
    assert ("Does it stand?", "Enter to keep, number to change: ") == (filling.asked, filling.prompt)
    assert (SIDE,) == filling.take("8")
    filling.give(SIDE, "right")
    assert [("8.", "Side: right")] == filling.rows
    filling.take("")
    assert filling.closed


def test_a_row_that_goes_shows_the_sheet_anew() -> None:
    """The numbers of the rows are others then, so all of them are shown."""
    filling = Filling(LONG)
    filling.take("upper one")
    (question,) = filling.take("7")
    filling.give(question, answer=False)

    assert 7 == len(filling.rows)


def test_a_row_without_an_answer_is_never_left_out() -> None:
    """A number typed while a row is still open shows that row again, with the one that was changed."""
    filling = Filling(LONG)
    filling.take("change 8")
    filling.give(SIDE, "right")

    assert [("1.", "Name: ?"), ("8.", "Side: right")] == filling.rows
    assert "The other 6 rows are as before. Type: Name" == filling.asked
    filling.take("all")
    assert {"path.name": "all"}.items() <= filling.answers.items()


async def test_a_sheet_on_a_terminal_that_draws() -> None:
    """It is shown again after each line, and its notes only the first time."""
    async with drawn() as at:
        asking = asyncio.create_task(at.desk.form(SHEET))
        await at.sees("\n>")
        first = at.terminal.screen
        at.keys.send_text("12 mm, upper one\r")
        await at.sees("Enter to keep, number to change:")
        second = at.terminal.screen
        at.keys.send_text("\r")

        assert {"path.length": "12", "path.name": "upper one", "path.side": "left", "path.free": True} == await asking
    assert (
        """
The path
Measure it first.
  1. Length: ?
  2. Name: ?
  3. Side: left
  4. Free: yes
Type in one line, with commas (- for none): Length (mm, from 0 to 1000), Name
>"""
        == first
    )
    assert second.endswith(
        """
> 12 mm, upper one

The path
  1. Length: 12 mm
  2. Name: upper one
  3. Side: left
  4. Free: yes
Does it stand?
Enter to keep, number to change:"""
    )


async def test_a_sheet_in_whole_lines() -> None:
    """A row is asked alone by its number, and the sheet comes again with what was answered."""
    async with plain() as at:
        asking = asyncio.create_task(at.desk.form(SHEET))
        await at.hears("Type in one line")
        at.types("12, upper one\n")
        await at.hears("Enter to keep, number to change:")
        at.types("3\n")
        await at.hears("On which side?")
        at.types("2\n")
        await at.hears("Side: right")
        at.types("\n")

        assert {"path.length": "12", "path.name": "upper one", "path.side": "right"} == await asking
