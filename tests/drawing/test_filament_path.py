"""The filament path with its lengths, for a terminal and for print."""

import xml.etree.ElementTree as ET

import pytest

from commission.drawing.filament_path import FilamentPath, path_svg, path_text

DIRECT = FilamentPath(40, 60, 3, 20, 3, 12, refused=False)
INLET = FilamentPath(12, None, 3, 25, 3, 12, refused=True)


def test_the_lengths_follow_one_another() -> None:
    """Uncertainty, leftover and queue are used up one after the other; the grip margin ends at the gear."""
    assert [(0, 3), (3, 23), (23, 26), (28, 40)] == [(bar.from_mm, bar.to_mm) for bar in DIRECT.bars]


def test_the_terminal_picture_names_every_length_with_its_unit() -> None:
    """Every bar carries its millimetres, and no line is wider than 78 columns."""
    drawn = path_text(DIRECT)

    assert max(len(line) for line in drawn.splitlines()) <= 78
    for said in ("trip uncertainty 3.0 mm", "leftover 20.0 mm", "queued moves 3.0 mm", "grip margin 12.0 mm", "nozzle"):
        assert said in drawn


def test_what_does_not_fit_reaches_past_the_gear() -> None:
    """A leftover that is too long ends beyond the gear, and the picture says that it does not fit."""
    lines = path_text(INLET).splitlines()
    gear = lines[1].rindex("+")

    assert len(lines[3].rstrip()) > gear
    assert "they do not fit" in path_text(INLET)
    assert "Refused" in path_svg(INLET)


def test_names_that_would_touch_stand_one_above_the_other() -> None:
    """With the sensor close to the gear the names of both can still be read, each beginning over its place."""
    near = path_text(FilamentPath(25, 400, 3, 5, 3, 12, refused=False)).splitlines()
    apart = path_text(DIRECT).splitlines()

    assert ["gear", "trip", "spool"] == [line.split()[0] for line in near[:3]]
    assert near[2].index("+") == near[1].index("trip")
    assert near[2].index("+", near[2].index("+") + 1) == near[0].index("gear")
    assert ["trip", "spool"] == [line.split()[0] for line in apart[:2]]


@pytest.mark.parametrize("path", [DIRECT, INLET, FilamentPath(0, 0, 0, 0, 0, 0, refused=False)])
def test_the_svg_is_well_formed(path: FilamentPath) -> None:
    """Any path that can be described is drawn, with the same sentence as its description."""
    root = ET.fromstring(path_svg(path))  # noqa: S314 - our own picture

    assert path.description in list(root.itertext())


def test_a_negative_length_is_refused() -> None:
    """A length below zero is no path."""
    with pytest.raises(ValueError, match="from 0 mm up"):
        FilamentPath(-1, None, 3, 20, 3, 12, refused=False)
