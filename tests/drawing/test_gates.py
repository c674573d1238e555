"""The row of gates, for a terminal and for print."""

import xml.etree.ElementTree as ET
from html import unescape

from commission.drawing.gates import GateSymbol, gates_svg, gates_text

ROW = (
    GateSymbol("support is built in", "open"),
    GateSymbol("runout detection is on", "shut", "Watching is off."),
    GateSymbol("the board counts a print as running", "unknown"),
)


def test_the_row_ends_at_the_shut_gate() -> None:
    """The way goes down to the first shut gate, which says why; behind it there is no way."""
    assert gates_text(ROW) == (
        "  runout\n"
        "  | [   ] open    support is built in\n"
        "  | [###] shut    runout detection is on\n"
        "      here it stops: Watching is off.\n"
        "    [ ? ] unknown the board counts a print as running\n"
        "  x no pause\n"
    )


def test_the_row_says_how_each_is_known_and_what_opens_it() -> None:
    """How a gate was established stands behind its name; what opens it stands below the row."""
    row = (
        GateSymbol("support is built in", "open", how="read"),
        GateSymbol("runout detection is on", "shut", "Watching is off.", "read", "Switch it on."),
        GateSymbol("the board counts a print as running", "unknown", cure="Start one."),
    )

    assert gates_text(row) == (
        "  runout\n"
        "  | [   ] open    support is built in                       read\n"
        "  | [###] shut    runout detection is on                    read\n"
        "      here it stops: Watching is off.\n"
        "    [ ? ] unknown the board counts a print as running\n"
        "  x no pause\n"
        "  - runout detection is on; cure: Switch it on.\n"
        "  - the board counts a print as running; cure if it is shut: Start one.\n"
    )


def test_an_open_row_ends_in_a_pause() -> None:
    """With every gate open the row ends in a pause, with one unknown it says so."""
    assert "v pause\n" in gates_text(ROW[:1])
    assert "v pause, as far as is known\n" in gates_text((ROW[0], ROW[2]))


def test_a_leftover_that_is_too_long_only_delays_the_pause() -> None:
    """The way goes on through it, to a pause that comes too late; with another gate shut there is none."""
    late = GateSymbol("the leftover fits", "shut", "It is 25.0 mm; the path allows at most 7.0 mm.", only_late=True)

    assert gates_text((ROW[0], late, ROW[2])) == (
        "  runout\n"
        "  | [   ] open    support is built in\n"
        "  | [###] shut    the leftover fits\n"
        "      here it is delayed: It is 25.0 mm; the path allows at most 7.0 mm.\n"
        "  | [ ? ] unknown the board counts a print as running\n"
        "  v pauses, but too late\n"
    )
    assert "It pauses, but too late: 'the leftover fits'." in unescape(gates_svg((ROW[0], late)))
    assert gates_text((late, ROW[1])).endswith("x no pause\n")
    assert "No pause: it stops at 'runout detection is on'." in unescape(gates_svg((late, ROW[1])))


def test_the_picture_says_in_words_what_it_shows() -> None:
    """The SVG is well-formed, names every gate with its state, and its description replaces it."""
    root = ET.fromstring(gates_svg(ROW))  # noqa: S314 - our own picture

    said = " ".join(text for text in root.itertext())
    for gate in ROW:
        assert f"{gate.state}: {gate.title}" in said
    assert "it stops at 'runout detection is on'" in said


def test_hostile_text_is_shown_and_not_obeyed() -> None:
    """A control character in a title reaches neither the terminal nor the picture."""
    row = (GateSymbol("a\x1b[31m<b>", "open"),)

    assert "\x1b" not in gates_text(row)
    assert "\x1b" not in gates_svg(row)
    assert "<b>" not in gates_svg(row)
