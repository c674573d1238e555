"""The timeline, for print and for a terminal."""

import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.drawing.timeline import (
    MOST_STRIPS,
    STRIP_S,
    STRIPS_A_PICTURE,
    Occurrence,
    Seen,
    Span,
    Timeline,
    strips,
    timeline_svgs,
)
from commission.drawing.timeline_plain import TEXT_STRIP_S, timeline_text
from commission.vocabulary import Presence, Reading

IN, OUT = Presence.IN, Presence.OUT
ACTIVE, INACTIVE, UNKNOWN = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN
NS = "{http://www.w3.org/2000/svg}"


def seen(began_s: float, readings: list[Reading]) -> tuple[Seen, ...]:
    """A reading each half second."""
    return tuple(Seen(began_s + 0.5 * place, reading) for place, reading in enumerate(readings))


INSERTED = Span("1", "Trial 1", OUT, IN, 0, 2, 4, seen(0, [INACTIVE] * 3 + [ACTIVE] * 5))
LEFT = Span("2", "Trial 2", IN, IN, 4, 6, 8, seen(4, [ACTIVE] * 5 + [INACTIVE] + [ACTIVE] * 2), (6.5, 7.0))
UNPLUGGED = Span("Unplugged", "Unplugged", None, None, 40, 40, 42, seen(40, [INACTIVE, UNKNOWN, INACTIVE, INACTIVE]))
PICTURE = Timeline((INSERTED, LEFT, UNPLUGGED), (Occurrence(10, "hold point"),), "9:00")


def test_the_terminal_picture_shows_declared_over_read() -> None:
    """One column is half a second: time to act is dotted, the readings stand below, what changed unasked is marked."""
    assert (
        "Time from 9:00, 0.5 s a column.\n"
        "declared: I in, O out, . time to act\n"
        "reading:  # active, - inactive, ? not read, ^ changed unasked\n"
        "\n"
        "  0:00  declared  ....IIIIIIIIIIII\n"
        "        reading   ---##########-##\n"
        "        unasked                ^^\n"
        "        0:10 event 1\n"
        "\n"
        "  0:40  declared\n"
        "        reading   -?--\n"
    ) == timeline_text(PICTURE)


def test_the_description_replaces_the_picture() -> None:
    """Someone who cannot see it hears how much was asked and when the reading changed unasked."""
    said = "Declared presence and reading of 3 prompts and watches, from 9:00 on. Unwanted changes at 0:06, 0:07."

    assert said == PICTURE.description
    assert said in list(ET.fromstring(timeline_svgs(PICTURE)[-1]).itertext())  # noqa: S314 - our own picture


def test_the_svg_tells_each_prompt_when_pointed_at() -> None:
    """Every span and event carries its sentence as a title of its own."""
    root = ET.fromstring(timeline_svgs(PICTURE)[-1])  # noqa: S314 - our own picture

    titles = [group.findtext(f"{NS}title") for group in root.iter(f"{NS}g")]

    assert ["Trial 1", "Trial 2", "Unplugged", "0:10 hold point"] == titles


def test_the_svg_needs_no_colour() -> None:
    """Everything is black, white or grey; a change nobody asked for is a cross, here two of them and the legend's."""
    drawn = timeline_svgs(PICTURE)[-1]

    assert {"black", "white", "none", "#e6e6e6", "#767676"} == set(re.findall(r'(?:fill|stroke)="([^"]+)"', drawn))
    assert 2 * (2 + 1) == drawn.count('stroke-width="2.5"')


def test_a_voided_trial_is_struck_out_and_named() -> None:
    """The trial stays in the picture, with the word and a bar through it."""
    drawn = timeline_svgs(Timeline((Span("3", "Trial 3", OUT, IN, 0, 2, 4, voided=True),)))[-1]

    assert ">3 void<" in drawn


def test_waiting_takes_no_paper() -> None:
    """An hour at a hold point between two prompts makes two strips, and a long watch continues in the next."""
    far = Span("4", "Trial 4", OUT, IN, 3600, 3602, 3604)
    long = Span("wiggle", "Wiggle", IN, IN, 3604, 3604, 3704)

    assert [0, 3600, 3660] == strips(Timeline((INSERTED, far, long)), STRIP_S)


def test_a_span_that_ends_before_it_begins_is_refused() -> None:
    """Times run forward."""
    with pytest.raises(ValueError, match="ends before it begins"):
        Span("1", "Trial 1", OUT, IN, 4, 2, 0)


def test_a_very_long_run_is_bounded_and_says_so() -> None:
    """What lies beyond an hour of strips is counted in both forms."""
    spans = tuple(Span(str(n), f"Trial {n}", OUT, IN, 100 * n, 100 * n + 2, 100 * n + 4) for n in range(200))

    assert f"{200 - MOST_STRIPS} more strips are not drawn" in timeline_svgs(Timeline(spans))[-1]
    assert f"{200 - 2 * MOST_STRIPS} more strips are not drawn" in timeline_text(Timeline(spans))


def test_names_close_together_stand_in_two_rows() -> None:
    """A name that would run into the one before it stands a row higher, so that both can be read."""
    near = (
        Span("15", "one", None, None, 0, 0, 0.5),
        Span("16", "two", None, None, 0.6, 0.6, 1),
    )
    root = ET.fromstring(timeline_svgs(Timeline(near))[-1])  # noqa: S314 - our own picture

    heights = [text.get("y") for text in root.iter(f"{NS}text") if text.text in ("15", "16")]

    assert 2 == len(heights) == len(set(heights))


def test_a_letter_stands_for_its_title_in_the_plain_picture_too() -> None:
    """Watches and events are listed under their strip in the order of time, as the table beside it lists them."""
    watch = Span("B", "B, Wiggle", IN, IN, 5, 5, 8, title="Wiggle: bend the cable")
    text = timeline_text(Timeline((watch,), (Occurrence(2, "hold point"), Occurrence(9, "hold point released"))))

    assert ["0:02 event 1", "0:05 B", "0:09 event 2"] == [line.strip() for line in text.splitlines()[-3:]]
    assert "Wiggle" not in text


def test_a_long_picture_is_cut_between_strips() -> None:
    """Parts hold a sheet's worth of strips each, and together every span that the whole picture holds."""
    spans = tuple(Span(str(n), f"Trial {n}", OUT, IN, 100 * n, 100 * n + 2, 100 * n + 4) for n in range(200))

    parts = timeline_svgs(Timeline(spans))

    assert MOST_STRIPS // STRIPS_A_PICTURE == len(parts)
    assert [str(n) for n in range(MOST_STRIPS)] == re.findall(r">Trial (\d+)<", "".join(parts))
    assert [False] * (len(parts) - 1) + [True] == ["more strips are not drawn" in part for part in parts]


TIMES = st.floats(0, 400, allow_nan=False)


@st.composite
def spans(draw: st.DrawFn) -> Span:
    """A span of any form."""
    began_s, steady_s, ended_s = sorted(draw(st.tuples(TIMES, TIMES, TIMES)))
    moments = sorted(draw(st.lists(TIMES, max_size=6)))
    readings = tuple(Seen(at_s, draw(st.sampled_from(list(Reading)))) for at_s in moments)
    before, presence = draw(st.sampled_from([(IN, OUT), (OUT, IN), (IN, IN), (None, None)]))
    return Span(draw(st.text(max_size=6)), "x", before, presence, began_s, steady_s, ended_s, readings, tuple(moments))


@given(st.lists(spans(), max_size=6), st.lists(st.builds(Occurrence, TIMES, st.text(max_size=9)), max_size=3))
@settings(max_examples=100, deadline=None)
def test_anything_is_drawn(made: list[Span], happened: list[Occurrence]) -> None:
    """Any spans and events give a well-formed picture; every moment lies in a strip; no line is over 78 columns."""
    timeline = Timeline(tuple(made), tuple(happened))
    begins = strips(timeline, TEXT_STRIP_S)

    ET.fromstring(timeline_svgs(timeline)[-1])  # noqa: S314 - our own picture
    assert max(len(line) for line in timeline_text(timeline).splitlines()) <= 78
    for moment in [s for span in made for s in (span.began_s, span.ended_s)] + [each.at_s for each in happened]:
        assert any(begin <= moment <= begin + TEXT_STRIP_S for begin in begins)
