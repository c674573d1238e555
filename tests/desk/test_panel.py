"""The panel of a trial or a watch, as text."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.asking.request import Watch
from commission.desk.base import Mark, Status
from commission.desk.letters import HEIGHT, large, spaced
from commission.desk.panel import Space, panel
from commission.desk.wording import order
from commission.procedure.motion.passes import slowly
from commission.vocabulary import Instruction, Reading
from tests.desk.requests import COUNTING, DWELLING, INSERT, LEAVE, WIGGLE


def text(lines: list[tuple[str, str]]) -> str:
    """The panel as it is read."""
    return "\n".join(line.rstrip() for _, line in lines)


@pytest.mark.parametrize("word", [*(order(instruction)[0] for instruction in Instruction), "KEEP", "STILL", "3600"])
def test_words_fit_a_frame(word: str) -> None:
    """Every word that is drawn large fits a frame on a screen of 80 columns, all lines of the same length."""
    drawn = large(word)

    assert HEIGHT == len(drawn)
    assert 1 == len({len(row) for row in drawn})
    assert len(drawn[0]) <= Space(80, 24).inner


def test_large_word() -> None:
    """A word is drawn with the ink asked for."""
    assert [
        "@@       ######".replace("#", "@"),
        "@@         @@  ",
        "@@         @@  ",
        "@@         @@  ",
        "@@         @@  ",
        "@@         @@  ",
        "@@@@@@@  @@@@@@",
    ] == large("LI", "@")


def test_letter_that_is_not_drawn() -> None:
    """A letter without a large form is refused by name."""
    with pytest.raises(ValueError, match="No large form is drawn for X, x"):
        large("xX")


def test_spaced_capitals() -> None:
    """Spaced capitals stand one blank apart, words three."""
    assert "A S   I T" == spaced("as it")


def test_small_terminal_without_blocks() -> None:
    """A small terminal that knows ASCII only gets the same facts in capitals."""
    shown = panel(LEAVE, COUNTING, (Mark.SPOILT,), Space(60, 12, blocks=False))

    assert """\
+---------------------------------------------------------+
|                     L E A V E   I T                     |
|                     A S   I T   I S                     |
+---------------------------------------------------------+
Prompt 3 of 27, cycle 2   4 s left
The reading is shown after the dwell.
noted: this trial was spoilt
v: it was spoilt   n: did it, nothing changed
p: wait for me   q: stop""" == text(shown)


def test_what_is_to_be_done_now_is_not_cut() -> None:
    """On a screen of 60 columns a remark too long for a line goes on in the next one."""
    note = "Now: cut the filament once, a hand's breadth above the sensor; then wait"

    shown = text(panel(WIGGLE, Status(word="CUT", note=note), (), Space(60, 20)))

    assert note in " ".join(shown.split())
    assert "\nNow: cut the filament once, a hand's breadth above the\nsensor; then wait\nq: stop" in shown


WHERE = "Step 12 of 12, about 120 min left"


@pytest.mark.parametrize("request_shown", [INSERT, WIGGLE])
@pytest.mark.parametrize("blocks", [True, False])
@pytest.mark.parametrize(("columns", "rows"), [(40, 10), (60, 20), (80, 24), (200, 60)])
def test_where_the_run_is_stands_on_the_frame(columns: int, rows: int, blocks: bool, request_shown: Any) -> None:
    """At every size it is read whole on the upper edge, and takes no line from what is to be done."""
    space = Space(columns, rows, blocks)
    without = panel(request_shown, COUNTING, (), space)
    shown = panel(request_shown, COUNTING, (), space, WHERE)
    edge = text(shown).splitlines()[0]

    assert f" {WHERE} " in edge
    assert len(edge) == space.width
    assert without[1:] == shown[1:]


def test_terminal_of_medium_height() -> None:
    """Where only one large word fits, the instruction has it, and the dwell is announced in capitals."""
    counting = text(panel(INSERT, COUNTING, (), Space(80, 20)))
    dwelling = text(panel(INSERT, DWELLING, (), Space(80, 20)))

    assert 15 == len(counting.splitlines())
    assert "4 s left" in counting
    assert "K E E P   S T I L L" in dwelling
    assert "after: insert the filament" in dwelling


def test_countdown_is_rounded_up() -> None:
    """The countdown never shows zero while time is left."""
    assert "1 s left" in text(panel(INSERT, Status(seconds_left=0.01), (), Space(80, 24)))


def test_before_the_first_reading() -> None:
    """Until the first reading is there the panel counts down from the whole time; what is read is shown later."""
    shown = text(panel(INSERT, Status(), (), Space(80, 24)))

    assert "The reading is shown after the dwell." in shown
    assert large("5", "█")[0].strip() in shown


@pytest.mark.parametrize("columns", [40, 80])
def test_no_word_of_what_is_to_be_done_is_cut(columns: int) -> None:
    """What is to be done in a watch goes on in the next line where the frame is too narrow for it."""
    told = "Take the filament out. Press the lever, or put the flag where filament puts it, and hold it there."
    shown = panel(replace(WIGGLE, lines=(told,)), Status(), (), Space(columns, 24))

    words = " ".join(line.strip("│ ") for _, line in shown).split()
    assert told.split() == [word for word in words if word in told.split()][: len(told.split())]


def test_a_watch_of_a_deed_tells_how_beside_its_word() -> None:
    """What is done while it is read: the word, and below it the lines that say how; none of them is cut at 80 x 24."""
    pull = replace(WIGGLE, title="Pull 198 mm through the sensor", word="PULL", lead_s=0.0, lines=(slowly(20),))
    shown = [text for _, text in panel(pull, Status(seconds_left=12, word="PULL"), (), Space(80, 24))]

    assert len(shown) <= 24
    assert any("██████   ██   ██  ██       ██" in line for line in shown)
    assert slowly(20) in " ".join(" ".join(line.strip("│ ") for line in shown).split())


def test_a_watch_can_show_one_large_word() -> None:
    """What to do now in one word takes the place of the lines, drawn large; a small terminal gets it in capitals."""
    shown = [text for _, text in panel(WIGGLE, Status(note="Now: pull it out", word="PULL"), (), Space(80, 24))]
    small = [text for _, text in panel(WIGGLE, Status(note="Now: pull it out", word="PULL"), (), Space(40, 10))]

    assert any("██████   ██   ██  ██       ██" in text for text in shown)
    assert not any("Move it at both plugs." in text for text in shown)
    assert any("P U L L" in text for text in small)
    assert "Now: pull it out" in shown[-2]


@settings(deadline=None, max_examples=100)
@given(
    columns=st.integers(1, 300),
    rows=st.integers(1, 100),
    left_s=st.none() | st.floats(0, 5000),
    texts=st.lists(st.text(max_size=100), min_size=3, max_size=3),
)
def test_any_panel_fits(columns: int, rows: int, left_s: float | None, texts: list[str]) -> None:
    """No panel is wider than 80 columns or its terminal, nor higher, whatever it is told; all of it is printable."""
    watch = Watch("w", texts[0], (texts[1],) * 5, "filament", None, 60.0, 600)
    status = Status(Reading.ACTIVE, texts[1], left_s, texts[2], texts[0])

    for request in (INSERT, WIGGLE, watch):
        shown = panel(request, status, (Mark.PAUSE,), Space(columns, rows))

        assert len(shown) <= max(rows, 5)
        assert all(len(line) <= min(max(columns, 21), 80) - 1 for _, line in shown)
        assert all(line.isprintable() for _, line in shown)


@pytest.mark.parametrize("columns", [60, 72, 80, 200])
def test_no_key_of_a_trial_is_cut_off(columns: int) -> None:
    """On 60 columns the keys take two lines: how to stop is always seen."""
    shown = text(panel(INSERT, COUNTING, (), Space(columns, 24)))

    assert all(key in shown for key in ("v: it was spoilt", "n: did it", "p: wait for me", "q: stop"))
