"""Findings of the first form, from before findings had types, are read as they were meant."""

import json
from typing import Any

import pytest

from commission.evidence import codec
from commission.evidence.entry import Unreadable
from commission.evidence.findings.base import Finding, Picture
from commission.evidence.findings.function import Reserve
from commission.evidence.findings.gates import Gates
from commission.evidence.findings.meeting import TakenOver
from commission.evidence.findings.settings import FirmwareFiles
from commission.evidence.findings.wiring import MechanicalCheck, Wiring
from commission.evidence.found import Established
from commission.vocabulary import Presence

FLOATING = {"level": "floating", "concluded": "undefined", "supply_short": False}
HIGH = {"level": "high", "concluded": "out", "supply_short": False}
ASSESSMENT: dict[str, Any] = {
    "states": {"sound": {"in": FLOATING, "out": HIGH}, "supply_broken": None},
    "polarity": None,
    "usable": False,
    "fail_safe": None,
    "hazards": [],
    "findings": [],
    "recommendation": "Fit a pull.",
}
WIRING = {"answers": {"sensor": "switch"}, "assessment": ASSESSMENT, "margins": [], "assumptions": []}


def read(name: str, facts: dict[str, Any], *sentences: str) -> Finding | Unreadable:
    """The finding as a book of the first form holds it."""
    text = json.dumps({"name": name, "facts": facts, "sentences": sentences})
    entry, _ = codec.read(Established.kind(), text)
    return entry if isinstance(entry, Unreadable) else entry.finding if isinstance(entry, Established) else Finding()


def test_a_conclusion_that_is_not_defined_is_none() -> None:
    """It was the word `undefined` among two presences; a state that an installation has not is none at all."""
    found = read("wiring", WIRING)

    assert isinstance(found, Wiring)
    sound = found.assessment.states["sound"]
    assert sound is not None
    assert (None, Presence.OUT) == (sound.filament_in.concluded, sound.filament_out.concluded)
    assert found.assessment.states["supply_broken"] is None


def test_a_firmware_file_that_was_typed_is_read() -> None:
    """Its size was not known, and its digest need not be."""
    typed = {"name": "old.bin", "place": "shelf", "sha256": "", "bytes": None}
    found = read("way_back", {"old": typed, "new": None})

    assert isinstance(found, FirmwareFiles)
    assert found.old is not None
    assert ("old.bin", "", None) == (found.old.name, found.old.sha256, found.old.bytes)


@pytest.mark.parametrize(
    ("name", "facts", "drawn"),
    [
        (
            "wiring",
            WIRING | {"picture": "<svg/>", "picture_description": "A switch."},
            Picture(svg="<svg/>", description="A switch."),
        ),
        (
            "gates",
            {"gates": [], "first_shut": "", "unknown": [], "picture_svg": "<svg/>", "picture_text": "|"},
            Picture(svg="<svg/>", text="|"),
        ),
    ],
)
def test_pictures_stand_apart_from_values(name: str, facts: dict[str, Any], drawn: Picture) -> None:
    """What an earlier version drew into the book is kept as that, and is no value."""
    found = read(name, facts)

    assert isinstance(found, Wiring | Gates)
    assert drawn == found.drawn_before
    assert "drawn_before" not in found.values
    assert "<svg" not in json.dumps(found.values)


def test_a_phase_that_stood_is_named_by_its_value() -> None:
    """The first form had the phase in the finding's own name."""
    facts = {"phase": "backup", "void": True}

    assert TakenOver(sentences=("Void.",), phase="backup", void=True) == read("resume.backup", facts, "Void.")


def test_a_line_of_the_sheet_may_have_no_reason() -> None:
    """A drag that was measured had none."""
    line = {"name": "drag", "question": "Does it run freely?", "mark": "done"}
    found = read("mechanical_check", {"lines": [line], "filament": ""})

    assert isinstance(found, MechanicalCheck)
    assert ("",) == tuple(each.reason for each in found.lines)


def test_a_reserve_without_its_lengths_is_no_reserve() -> None:
    """Said to be worked out it has them; left out it has none."""
    assert Reserve(sentences=("Left out.",), done=False) == read("reserve", {"done": False}, "Left out.")
    assert isinstance(read("reserve", {"done": True}), Unreadable)


def test_every_value_is_written() -> None:
    """Also one that is usual: what is usual in a later version must not change what was found."""
    entry = codec.written(Established.of(TakenOver(phase="backup")))["entry"]

    assert {"name": "taken_over", "sentences": (), "phase": "backup", "void": False} == entry["finding"]


@pytest.mark.parametrize(
    ("damaged", "place"),
    [
        ({"assessment": "none"}, "finding.assessment"),
        ({"assessment": {**ASSESSMENT, "states": "none"}}, "finding.assessment.states"),
        ({"assessment": {**ASSESSMENT, "states": {"sound": "none"}}}, "finding.assessment.states[...]"),
    ],
)
def test_an_assessment_that_is_none_is_told(damaged: dict[str, Any], place: str) -> None:
    """What stands in its place is no assessment: the finding cannot be read, and the reason names the place."""
    found = read("wiring", WIRING | damaged)

    assert isinstance(found, Unreadable)
    assert f"got `str` - at `{place}`" in found.why
