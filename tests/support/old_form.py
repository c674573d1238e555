"""Findings as the phases still name them: by a name and facts. It goes once every phase makes its findings itself."""

from dataclasses import dataclass
from typing import Any

from commission.evidence.findings.base import Finding, Picture
from commission.evidence.findings.meeting import TakenOver

PICTURES = {
    "gates": ("picture_svg", "picture_text", ""),
    "reserve": ("picture_svg", "picture_text", ""),
    "wiring": ("picture", "", "picture_description"),
    "diagnosis": ("picture", "", ""),
}
"""Where the facts of these findings have their picture, its text and its description."""


@dataclass(frozen=True)
class OldForm:
    """A finding by name, facts and sentences."""

    name: str
    facts: dict[str, Any]
    sentences: tuple[str, ...]


def old_form(finding: Finding) -> OldForm:
    """The finding as its phase named it."""
    name = f"resume.{finding.phase}" if isinstance(finding, TakenOver) else finding.name()
    facts = {key: value for key, value in finding.values.items() if key != "drawn_before"}
    drawn = getattr(finding, "drawn_before", None)
    if isinstance(drawn, Picture):
        shown = zip(PICTURES[finding.name()], (drawn.svg, drawn.text, drawn.description), strict=True)
        facts |= {key: value for key, value in shown if key and value}
    return OldForm(name, facts, finding.sentences)
