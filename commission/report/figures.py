"""Pictures of findings: drawn from their values, or as an earlier version of the tool drew them into the book."""

from dataclasses import replace

from commission.drawing.filament_path import path_svg, path_text
from commission.drawing.gates import gates_svg, gates_text
from commission.drawing.pull_proof import pull_proof_svg, pull_proof_text
from commission.drawing.shares import shares_svg
from commission.drawing.wiring import wiring_svg
from commission.evidence.findings.base import Finding, Picture
from commission.evidence.findings.cause import Diagnosis
from commission.evidence.findings.function import Reserve
from commission.evidence.findings.gates import Gates
from commission.evidence.findings.pull import PullProof
from commission.evidence.findings.wiring import Wiring
from commission.procedure.cause.weighed import label_of, shares
from commission.procedure.function.gates import symbols
from commission.procedure.function.reserve import picture_of as path_picture
from commission.procedure.loop.pull_proof import picture_of as picture_of_proof
from commission.procedure.wiring.declaration import assessed, described
from commission.procedure.wiring.pictures import picture_of
from commission.report.document import Figure
from commission.report.pictures import description_of
from commission.wiring.pull_proof import SAFETY

MOST_DRAWN = 12
"""So many classes of causes at most stand in a picture."""
NO_FIGURES: tuple[Figure, ...] = ()


def figures(finding: Finding) -> tuple[Figure, ...]:
    """The pictures of a finding; none of most.

    What an earlier version drew stands as it was drawn. A finding whose values can no longer be drawn, as the wiring of
    a sensor that this version does not know, has a figure without a drawing: whoever sets it says so.
    """
    before = finding.drawn_before if isinstance(finding, Gates | Reserve | Wiring | Diagnosis) else None
    if before is not None:
        return (_as_before(finding, before),)
    try:
        return _drawn(finding)
    except ValueError:
        return (Figure(finding.heading(), "", ""),)


def _as_before(finding: Finding, picture: Picture) -> Figure:
    caption = picture.description or description_of(picture.svg) or finding.heading()
    return Figure(caption, picture.svg, picture.text)


def _drawn(finding: Finding) -> tuple[Figure, ...]:
    """The pictures drawn from the values.

    Raises:
        ValueError: the values are none that can be drawn.
    """
    match finding:
        case Gates():
            return _gates(finding)
        case Reserve():
            return _path(finding)
        case Wiring():
            return _wiring(finding)
        case Diagnosis():
            return _shares(finding)
        case PullProof():
            return _pull(finding)
    return NO_FIGURES


def _gates(finding: Gates) -> tuple[Figure, ...]:
    row = symbols([shown.gate for shown in finding.gates])
    return (_figure(gates_svg(row), gates_text(row)),)


def _path(finding: Reserve) -> tuple[Figure, ...]:
    """Without a path where the reserve was left out."""
    if finding.path is None or finding.found is None:
        return NO_FIGURES
    picture = path_picture(finding.path.path, finding.found)
    return (_figure(path_svg(picture), path_text(picture)),)


def _wiring(finding: Wiring) -> tuple[Figure, ...]:
    """As it was declared, with the hazards that were found then; a sensor that is no presence input has no picture."""
    declared = assessed(finding.answers)
    if declared.installation is None:
        return NO_FIGURES
    picture = picture_of(declared.installation, declared.assessment)
    picture = replace(picture, warnings=finding.assessment.hazards)
    return (Figure(described(picture), wiring_svg(picture), ""),)


def _shares(finding: Diagnosis) -> tuple[Figure, ...]:
    shown, more = finding.classes[:MOST_DRAWN], finding.classes[MOST_DRAWN:]
    rest = sum(each.weight for each in more) + finding.unlikely_together
    drawn = shares([(label_of(each.titles), each.weight) for each in shown], rest)
    return (_figure(shares_svg("What it may be", drawn)),)


def _pull(finding: PullProof) -> tuple[Figure, ...]:
    """How the resistors were laid; nothing where it was left out."""
    if finding.to is None:
        return NO_FIGURES
    picture = picture_of_proof(finding.to, SAFETY)
    return (_figure(pull_proof_svg(picture), pull_proof_text(picture)),)


def _figure(svg: str, text: str = "") -> Figure:
    return Figure(description_of(svg), svg, text)
