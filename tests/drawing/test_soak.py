"""A soak on one line."""

from xml.etree import ElementTree

import pytest

from commission.drawing.soak import COLUMNS, Piece, SoakLine, soak_svg, soak_text

LINE = SoakLine(7200.0, (Piece(0.0, 3000.0), Piece(3600.0, 5400.0), Piece(5400.0, 7200.0, printing=True)), (1000.0,))


def test_hours_changes_and_pauses_stand_on_one_line() -> None:
    """Watched, paused, printing and changed, each by a sign of its own; every column is 100 s."""
    line, scale, key = soak_text(LINE).splitlines()

    assert "=" * 10 + "X" + "=" * 19 + "." * 6 + "=" * 18 + "p" * 18 == line
    assert COLUMNS == len(line) == len(scale)
    assert scale.endswith("2:00:00")
    assert key.startswith("= watched at rest")


def test_the_picture_says_the_same_in_words() -> None:
    """For who cannot see it."""
    assert LINE.description == (
        "A soak of 2:00:00 (hours:minutes:seconds). The reading changed at 0:16:40. Not watched: 0:50:00 to 1:00:00."
    )
    assert "did not change. It was watched all the time." in SoakLine(60.0, (Piece(0.0, 60.0),)).description


def test_a_short_pause_stays_visible_in_a_long_soak() -> None:
    """A pause of a minute in two days takes less than a column, and is drawn all the same."""
    line = SoakLine(172_800.0, (Piece(0.0, 80_000.0), Piece(80_060.0, 172_800.0)))

    assert 1 == soak_text(line).splitlines()[0].count(".")


def test_the_picture_is_well_formed() -> None:
    """One bar a stretch, and two strokes for the change."""
    drawn = ElementTree.fromstring(soak_svg(LINE))  # noqa: S314 - our own text

    assert drawn.tag.endswith("svg")
    assert 3 <= len([each for each in drawn.iter() if each.tag.endswith("rect")])


def test_a_soak_that_took_no_time_is_refused() -> None:
    """There is nothing to draw."""
    with pytest.raises(ValueError, match="no time"):
        SoakLine(0.0, ())
