"""Bars of shares, in plain characters and as a drawing."""

from xml.etree import ElementTree

import pytest

from commission.drawing.shares import Share, shares_svg, shares_text

THREE = [Share(0.5, "the plug"), Share(0.495, "the wire"), Share(0.005, "everything else together")]


def test_bars_are_as_long_as_their_shares() -> None:
    """Half of the whole is twelve of twenty-four marks; half a percent is no mark and still not called nothing."""
    assert [
        "  50 %  ############              the plug",
        "  50 %  ############              the wire",
        " < 1 %                            everything else together",
    ] == shares_text(THREE)


@pytest.mark.parametrize(
    ("share", "said", "words"),
    [
        (0.0, "0 %", "0 %"),
        (6.6e-7, "< 1 %", "less than 1 %"),
        (0.5, "50 %", "50 %"),
        (0.99, "99 %", "99 %"),
        (0.9901, "> 99 %", "more than 99 %"),
        (1.0, "> 99 %", "more than 99 %"),
    ],
)
def test_neither_end_is_rounded_away(share: float, said: str, words: str) -> None:
    """What is not nothing is not called nothing, and nothing is ever called all."""
    assert (said, words) == (Share(share, "").percent, Share(share, "").words)


def test_no_line_is_wider_than_a_small_terminal() -> None:
    """A label of any length is wrapped within 78 columns, and none of its words is lost."""
    label = "a very long explanation of what may be wrong " * 5
    lines = shares_text([Share(1.0, label)])

    assert max(len(line) for line in lines) <= 78
    assert label.split() == " ".join(line[34:] for line in lines).split()


def test_control_characters_are_not_obeyed() -> None:
    """A label with an escape sequence is printed without it."""
    assert "\x1b" not in "".join(shares_text([Share(1.0, "\x1b[31mred")]))


def test_the_drawing_has_a_bar_for_each_share_and_a_description() -> None:
    """Besides the ground, one frame and one filled bar for each share; the description says all of it in words."""
    drawn = ElementTree.fromstring(shares_svg("What it may be", THREE))  # noqa: S314 - our own
    name = "{http://www.w3.org/2000/svg}"

    assert 1 + 6 == len(drawn.findall(f".//{name}rect"))
    assert "50 % the plug" in (drawn.findtext(f".//{name}desc") or "")


@pytest.mark.parametrize("share", [-0.1, 1.1, float("nan")])
def test_what_is_no_share_is_refused(share: float) -> None:
    """A share lies between nothing and the whole."""
    with pytest.raises(ValueError, match="between 0 and 1"):
        Share(share, "")
