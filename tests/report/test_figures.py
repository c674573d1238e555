"""Pictures of findings: drawn from values, or as an earlier version drew them into the book."""

from typing import Any
from xml.etree import ElementTree

import pytest
from msgspec import structs

from commission.evidence.findings.base import Finding, Picture
from commission.evidence.findings.cause import CauseClass, Diagnosis
from commission.evidence.findings.function import FilamentPathMeasured, Reserve
from commission.evidence.findings.gates import Gates, GateShown
from commission.evidence.findings.pull import PullProof, PullProofBy
from commission.evidence.findings.settings import NoStorage
from commission.evidence.findings.wiring import Wiring
from commission.judge.gates import GateEvidence, gates
from commission.judge.reserve import Path, reserve
from commission.procedure.wiring.declaration import assessed, wiring_found
from commission.report.document import Figure
from commission.report.figures import MOST_DRAWN, figures
from commission.report.pictures import checked_svg
from commission.vocabulary import PullConclusion
from commission.wiring.installation import Terminal

ANSWERS = {"sensor": "switch", "wires": "2", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}
SHORTS = {
    "sensor": "switch",
    "common": "ground",
    "no-side": "supply",
    "nc-side": "signal",
    "pull": "up",
    "absent": "high",
}
PATH = Path(60.0, gear_to_nozzle_mm=400.0, leftover_mm=20.0)
KNOWN = GateEvidence(support_announced=True, control_known=True, switch_reported=True, enabled=False)


def wired(answers: dict[str, str]) -> Wiring:
    """The finding of this declaration."""
    return wiring_found(assessed(answers))


def row(known: GateEvidence) -> Gates:
    """The finding of these gates."""
    shown = tuple(GateShown.of(gate) for gate in gates(known))
    return Gates(gates=shown, first_shut="watching", unknown=())


def weighed(*weights: float, unlikely: float = 0.0) -> Diagnosis:
    """A diagnosis of causes with these weights."""
    classes = tuple(
        CauseClass(members=(f"c{number}",), titles=(f"cause {number}",), weight=weight, cures=())
        for number, weight in enumerate(weights, 1)
    )
    return Diagnosis(
        decided=False,
        odds=2.0,
        needed_odds=20.0,
        reason="",
        classes=classes,
        unlikely=(),
        unlikely_together=unlikely,
        next_test=None,
        gain_bits=0.0,
        unsafe=(),
        observations=(),
    )


def drawn(finding: Finding) -> Figure:
    """Its one figure, whose drawing a page lets through."""
    (figure,) = figures(finding)
    assert figure.svg == checked_svg(figure.svg)
    return figure


def written_in(figure: Figure) -> str:
    """Every text in the drawing."""
    root = ElementTree.fromstring(figure.svg)  # noqa: S314 - our own
    return " ".join(element.text or "" for element in root.iter("{http://www.w3.org/2000/svg}text"))


@pytest.mark.parametrize(
    ("finding", "caption", "words"),
    [
        (row(KNOWN), "", "runout detection"),
        (Reserve.of(PATH, reserve(PATH), ()), "From the trip point to the gear 60.0 mm", "leftover: 20.0 mm"),
        (wired(ANSWERS), "Lever switch", "board input"),
        (weighed(0.7, 0.3), "70 % cause 1; 30 % cause 2", "cause 2"),
    ],
    ids=["gates", "reserve", "wiring", "diagnosis"],
)
def test_a_finding_is_drawn_from_its_values(finding: Finding, caption: str, words: str) -> None:
    """The caption says what the drawing shows, and the drawing says it too."""
    figure = drawn(finding)

    assert caption in figure.caption
    assert words in written_in(figure)


def test_what_was_drawn_before_stands_as_it_was() -> None:
    """The picture in an old book is the one that was on the paper then."""
    before = Picture(svg="<svg><desc>By its own words.</desc></svg>", text="| |")

    assert (Figure("By its own words.", before.svg, "| |"),) == figures(
        structs.replace(row(KNOWN), drawn_before=before)
    )
    named = structs.replace(before, description="As described.")
    assert "As described." == figures(structs.replace(wired(ANSWERS), drawn_before=named))[0].caption


def test_the_hazards_drawn_are_those_that_were_found() -> None:
    """A later version may judge a wiring otherwise; the paper of the run shows what it said."""
    found = wired(SHORTS)
    other = structs.replace(found, assessment=structs.replace(found.assessment, hazards=("Said at that time.",)))

    assert found.assessment.hazards
    assert "Said at that time." in written_in(drawn(other))


def test_a_wiring_that_nobody_can_draw_any_more_is_told() -> None:
    """A figure without a drawing: the page then says that it could not be drawn."""
    strange = structs.replace(wired(ANSWERS), answers={"sensor": "lantern"})

    assert (Figure("Wiring", "", ""),) == figures(strange)


def test_no_more_causes_are_drawn_than_can_be_read() -> None:
    """The likeliest each with its share, everything else together: the shares still add up."""
    figure = drawn(weighed(*(20 * [0.045]), unlikely=0.1))

    assert f"cause {MOST_DRAWN}" in written_in(figure)
    assert f"cause {MOST_DRAWN + 1}" not in written_in(figure)
    assert "46 % everything else together" in figure.caption


@pytest.mark.parametrize("finding", [NoStorage(), Reserve(done=False), wired({"sensor": "motion-wheel"})])
def test_what_has_nothing_to_draw_has_no_figure(finding: Finding) -> None:
    """A finding without a picture, a reserve that was left out, a sensor that is no presence input."""
    assert () == figures(finding)


def test_a_path_is_drawn_without_its_nozzle_where_that_was_not_measured() -> None:
    """The picture is that of the lengths in the finding."""
    short: dict[str, Any] = {"path": FilamentPathMeasured.of(Path(60.0))}
    figure = drawn(structs.replace(Reserve.of(PATH, reserve(PATH), ()), **short))

    assert "nozzle" not in figure.caption
    assert "nozzle" not in figure.text


@pytest.mark.parametrize("to", [Terminal.GROUND, Terminal.SUPPLY])
def test_the_proof_of_the_pull_is_drawn_with_its_cautions(to: Terminal) -> None:
    """Signal to the terminal that was used, both resistors, and never a pin of 5 V or 24 V."""
    proven = PullProof(how=PullProofBy.RESISTORS, conclusion=PullConclusion.PROVEN, to=to)
    figure = drawn(proven)

    for said in (written_in(figure), " ".join(figure.text.split())):
        assert all(words in said for words in ("1 kΩ", "220 kΩ", "never to a pin of 5 V or 24 V"))
    assert f"one to {to.value}" in figure.caption


def test_a_proof_that_was_left_out_has_no_picture() -> None:
    """Nothing was laid, so nothing is drawn."""
    assert () == figures(PullProof(how=PullProofBy.LEFT_OUT, conclusion=None))
