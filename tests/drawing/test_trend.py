"""Trends as pictures and as text."""

from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.drawing.trend import Trend, as_svg, as_text

TREND = Trend("Mean settle time", "ms", ("2031-03-14", "2031-04-13", "2031-05-13"), (100.0, None, 400.0), limit=200.0)


def test_the_text_shows_value_limit_and_excess() -> None:
    """A bar a check, a mark at the limit, another mark where it is exceeded, and a gap where nothing was measured."""
    assert [
        "Mean settle time (limit 200 ms, at |)",
        "  2031-03-14  ==========          |                     100 ms",
        "  2031-04-13                      |                     not measured",
        "  2031-05-13  ====================!===================  400 ms",
    ] == as_text(TREND)


def test_the_picture_is_one_document_that_says_itself() -> None:
    """The SVG is well-formed, is described in words, and names every value."""
    root = ET.fromstring(as_svg(TREND))  # noqa: S314 - our own text
    said = " ".join("".join(element.itertext()) for element in root)

    assert "img" == root.get("role")
    for words in ("Mean settle time", "limit 200 ms", "2031-05-13: 400 ms", "2031-04-13: not measured"):
        assert words in said


def test_a_gap_is_not_bridged() -> None:
    """No line runs over a check that measured nothing; its neighbours are still points."""
    picture = as_svg(TREND)

    assert "polyline" not in picture
    assert 2 == picture.count("<circle")


def test_no_check_is_said_in_words() -> None:
    """An empty trend is a sentence."""
    assert ["Misreads: no check is on record."] == as_text(Trend("Misreads", "%", (), ()))


@pytest.mark.parametrize(("labels", "values"), [(("a",), ()), (("a",), (float("nan"),)), (("a",), (-1.0,))])
def test_what_cannot_be_drawn_is_refused(labels: tuple[str, ...], values: tuple[float, ...]) -> None:
    """Labels without values, and values that are no lengths, are refused."""
    with pytest.raises(ValueError, match="trend"):
        Trend("x", "", labels, values)


@given(
    values=st.lists(st.none() | st.floats(0, 1e9), max_size=30),
    limit=st.none() | st.floats(0, 1e9),
    title=st.text(max_size=20),
)
@settings(deadline=None, max_examples=60)
def test_any_trend_can_be_drawn(values: list[float | None], limit: float | None, title: str) -> None:
    """Whatever the values, the picture is well-formed and the text has a line a check, its bars of one width."""
    trend = Trend(title, "ms", tuple(f"c{i:02}" for i in range(len(values))), tuple(values), limit)
    ET.fromstring(as_svg(trend))  # noqa: S314 - our own text

    assert len(values) + 1 == len(as_text(trend))
    assert all("  " == line[47:49] for line in as_text(trend)[1:])
