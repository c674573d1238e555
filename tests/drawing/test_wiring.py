"""The wiring picture, as terminal text and as SVG, and the builder under it."""

from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.drawing.svg import Picture, element, safe_text
from commission.drawing.wiring import PullSymbol, WiringPicture, wiring_svg, wiring_text

SVG = "{http://www.w3.org/2000/svg}"
PULL_UP = PullSymbol(on_board=True, up=True, label="pull-up 30 to 50 kilohm to 3.3 V")
TWO_WIRES = WiringPicture(
    "bench-3, runout header",
    "lever switch",
    {"signal": "normally open", "ground": "common"},
    ("signal", "ground"),
    None,
    PULL_UP,
)
SHORTING = WiringPicture(
    "bench-3, runout header",
    "lever switch",
    {"supply": "common", "signal": "normally open", "ground": "normally closed"},
    ("supply", "signal"),
    ("supply", "ground"),
    None,
    ("Do not connect: with filament out the switch joins supply and ground.",),
)


def texts(svg: str) -> list[str]:
    """Every line of text in an SVG document."""
    return [node.text or "" for node in ElementTree.fromstring(svg).iter(f"{SVG}text")]  # noqa: S314 - our own picture


def test_two_wires_in_plain_characters() -> None:
    """A contact to ground: the supply is left empty, and the bar joins signal and ground with filament in."""
    expected = """\
  bench-3, runout header                     lever switch
                                                                    filament
                                                                    in  out
               supply o  left empty

               signal o--------------------o normally open          #
                                                                    |
               ground o--------------------o common                 #

  pull-up 30 to 50 kilohm to 3.3 V, at the board.
"""

    assert expected == wiring_text(TWO_WIRES)


def test_a_short_is_a_bar_from_supply_to_ground() -> None:
    """A switch that shorts the supply shows a bar past the signal, and its warning stands below."""
    expected = """\
  bench-3, runout header                     lever switch
                                                                    filament
                                                                    in  out
               supply o--------------------o common                 #   #
                                                                    |   |
               signal o--------------------o normally open          #   |
                                                                        |
               ground o--------------------o normally closed            #

  No pull resistor.

  !! Do not connect: with filament out the switch joins supply and ground.
"""

    assert expected == wiring_text(SHORTING)


def test_the_svg_names_every_terminal_by_function_and_no_colour() -> None:
    """The picture holds each terminal's function and its far end, and draws in black and white only."""
    svg = wiring_svg(TWO_WIRES)

    assert {"supply", "signal", "ground", "left empty", "normally open", "common", "in", "out"} <= set(texts(svg))
    colours = {node.get(key) for node in ElementTree.fromstring(svg).iter() for key in ("fill", "stroke")}  # noqa: S314
    assert {None, "none", "black", "white"} >= colours


def test_the_svg_says_in_words_what_it_shows() -> None:
    """Title and description stand in for the picture for someone who cannot see it."""
    root = ElementTree.fromstring(wiring_svg(SHORTING))  # noqa: S314 - our own picture

    assert "Wiring of the filament sensor" == root.findtext(f"{SVG}title")
    assert (
        "lever switch at bench-3, runout header: supply to common; signal to normally open; ground to normally closed; "
        "no pull resistor; with filament in supply and signal joined; with filament out supply and ground joined."
    ) == root.findtext(f"{SVG}desc")


def test_every_drawn_thing_lies_inside_the_picture() -> None:
    """No line, dot or box is drawn outside the view, whichever pull and warnings there are."""
    long = ("word " * 80,)
    for pull in (
        None,
        *(PullSymbol(on_board=b, up=u, label="pull " * 9) for b in (True, False) for u in (True, False)),
    ):
        root = ElementTree.fromstring(  # noqa: S314 - our own picture
            wiring_svg(WiringPicture("b", "s", {}, None, ("signal", "ground"), pull, long))
        )
        width, height = float(root.get("width", 0)), float(root.get("height", 0))
        for node in root.iter():
            assert all(0 <= float(node.get(key, 0)) <= width for key in ("x", "x1", "x2", "cx"))
            assert all(0 <= float(node.get(key, 0)) <= height for key in ("y", "y1", "y2", "cy"))


def test_a_terminal_without_a_function_is_refused() -> None:
    """A wire named by its colour is refused."""
    with pytest.raises(ValueError, match="red"):
        WiringPicture("b", "s", {"red": "common"}, None, None)


@given(name=st.text(max_size=60))
@settings(deadline=None, max_examples=60)
def test_any_name_makes_a_well_formed_picture(name: str) -> None:
    """Whatever a board is called, the SVG parses and the terminal text keeps to its lines and its width."""
    picture = WiringPicture(name, name, {"signal": name}, ("signal", "ground"), None)
    lines = wiring_text(picture).removesuffix("\n").split("\n")

    assert f"{SVG}svg" == ElementTree.fromstring(wiring_svg(picture)).tag  # noqa: S314 - our own picture
    assert len(wiring_text(TWO_WIRES).splitlines()) == len(lines)
    assert all(len(line) <= 78 and line.isprintable() for line in lines)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("<b>&\"'", "&lt;b&gt;&amp;&quot;&#x27;"),
        ("a\x1b[31mb", "a\\u{001B}[31mb"),
        ("\x00", "\\u{0000}"),
        ("abc\u202edcba", "abc\\u{202E}dcba"),
        ("Grösse 5 Ω", "Grösse 5 Ω"),
    ],
)
def test_text_is_escaped_and_control_characters_are_made_visible(text: str, shown: str) -> None:
    """Markup is escaped, and what would steer a terminal or the direction of reading is shown by its code point."""
    assert shown == safe_text(text)


def test_an_element_escapes_its_attributes_and_rounds_its_numbers() -> None:
    """An underscore becomes a hyphen, text is escaped, and numbers keep two decimals."""
    assert '<line x1="1.23" stroke-width="2" id="&lt;"/>' == element(
        "line", (), {"x1": 1.2345, "stroke_width": 2.0, "id": "<"}
    )


def test_a_picture_without_a_size_is_refused() -> None:
    """A width or height of zero is refused."""
    with pytest.raises(ValueError, match="above zero"):
        Picture("t", "d", 0, 10)


def test_a_picture_is_named_by_its_own_title_and_description() -> None:
    """A page may hold several pictures: each points at its own words, and no text of it is smaller than 13.1 units."""
    first, second = (ElementTree.fromstring(wiring_svg(picture)) for picture in (TWO_WIRES, SHORTING))  # noqa: S314 - our own picture
    ids = [
        [node.attrib["id"] for node in root if node.tag in (f"{SVG}title", f"{SVG}desc")] for root in (first, second)
    ]

    assert [" ".join(each) for each in ids] == [root.attrib["aria-labelledby"] for root in (first, second)]
    assert set(ids[0]).isdisjoint(ids[1])
    assert 'font-size="13.1"' in _small()


def _small() -> str:
    drawing = Picture("t", "d", 10, 10)
    drawing.text(0, 0, "small", size=6)
    return drawing.render()
