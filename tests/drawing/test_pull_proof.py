"""How the resistor is laid against the pull, as text and as SVG."""

from xml.etree import ElementTree

import pytest

from commission.drawing.pull_proof import PullProofPicture, pull_proof_svg, pull_proof_text

PULL_UP = PullProofPicture("board input", "ground", "1 kΩ", "220 kΩ", ("Clip on with mains and USB out.",))
PULL_DOWN = PullProofPicture("board input", "supply", "1 kΩ", "220 kΩ")

PULL_UP_TEXT = """\
  board input, sensor unplugged                 outside the housing

        supply o  nothing touches this terminal

        signal o<-------------------------------o
                                                [ 1 kΩ ]  then  [ 220 kΩ ]
        ground o<-------------------------------o

  !! Clip on with mains and USB out.
"""
PULL_DOWN_TEXT = """\
  board input, sensor unplugged                 outside the housing

        supply o<-------------------------------o
                                                [ 1 kΩ ]  then  [ 220 kΩ ]
        signal o<-------------------------------o

        ground o  nothing touches this terminal
"""


@pytest.mark.parametrize(("picture", "text"), [(PULL_UP, PULL_UP_TEXT), (PULL_DOWN, PULL_DOWN_TEXT)])
def test_the_resistor_is_drawn_against_its_pull(picture: PullProofPicture, text: str) -> None:
    """From signal to ground against a pull-up, from signal to supply against a pull-down; the third is left alone."""
    assert text == pull_proof_text(picture)


@pytest.mark.parametrize("picture", [PULL_UP, PULL_DOWN])
def test_the_drawing_describes_itself(picture: PullProofPicture) -> None:
    """The SVG is well formed, names both resistors and carries the whole picture in one sentence."""
    root = ElementTree.fromstring(pull_proof_svg(picture))  # noqa: S314 - our own
    said = " ".join(root.itertext())

    assert "{http://www.w3.org/2000/svg}svg" == root.tag
    assert picture.description in said
    assert "first 1 kΩ" in said
    assert "then 220 kΩ" in said


def test_a_hostile_name_is_made_visible() -> None:
    """Control characters in the input's name steer neither a terminal nor a page."""
    hostile = PullProofPicture("in\x1b[2Jput<b>", "ground", "1 kΩ", "220 kΩ")

    assert "\x1b" not in pull_proof_text(hostile)
    assert "<b>" not in pull_proof_svg(hostile)


def test_a_lead_goes_to_a_rail() -> None:
    """The second lead cannot go to signal as well."""
    with pytest.raises(ValueError, match="supply or to ground"):
        PullProofPicture("board input", "signal", "1 kΩ", "220 kΩ")
