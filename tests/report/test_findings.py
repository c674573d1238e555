"""Findings in the report: of one that was established twice the newest counts."""

from pathlib import Path

from commission.evidence.findings.base import Picture
from commission.evidence.findings.cause import Diagnosis
from commission.evidence.findings.meeting import TakenOver
from commission.evidence.findings.wiring import Wiring
from commission.report.document import Figure, Pairs, Paragraph
from commission.report.findings import findings_section
from commission.report.record import read_run
from commission.report.summary import summary_section
from tests.report.scripted_run import NUMBER, RUNS

SVG = '<svg xmlns="http://www.w3.org/2000/svg"><desc>{}</desc></svg>'


def test_what_was_declared_again_is_drawn_once(tmp_path: Path) -> None:
    """Both declarations are told, the earlier one says that it was made again, and only the newest is drawn."""
    run = RUNS["complete"](tmp_path)
    for number, said in enumerate(("two wires", "three wires"), 1):
        drawn = Picture(svg=SVG.format(said), description=said)
        run.finding(Wiring, f"Declaration {number}: {said}.", drawn_before=drawn)

    section = findings_section(read_run(run.book, NUMBER))
    parts = [part for part in section.parts if part.heading.startswith("Wiring (")]

    assert 2 == len(parts)
    assert ["three wires"] == [b.caption for part in parts for b in part.blocks if isinstance(b, Figure)]
    told = [block.text for block in parts[0].blocks if isinstance(block, Paragraph)]
    assert ["Declaration 1: two wires.", "Established again later in the run; the picture is drawn there."] == told


def test_the_short_form_tells_the_newest_diagnosis(tmp_path: Path) -> None:
    """A diagnosis that was weighed anew replaces the one before it; both stand among the findings."""
    run = RUNS["complete"](tmp_path)
    for said in ("Not decided.", "Found: the plug."):
        run.finding(Diagnosis, said)

    rows = [
        row
        for block in summary_section(read_run(run.book, NUMBER)).blocks
        if isinstance(block, Pairs)
        for row in block.rows
    ]

    assert ["Found: the plug."] == [said for title, said in rows if title == "Diagnosis"]


def test_a_phase_that_stands_from_before_takes_no_room(tmp_path: Path) -> None:
    """Taken up again, the short form tells of what had to be done again and not of what stands."""
    run = RUNS["complete"](tmp_path)
    run.finding(TakenOver, "Already done in this run and still valid: backup.", phase="backup")
    run.finding(TakenOver, "As found: void, the firmware has changed.", phase="as_found", void=True)

    rows = [
        row
        for block in summary_section(read_run(run.book, NUMBER)).blocks
        if isinstance(block, Pairs)
        for row in block.rows
    ]

    assert ["As found: void, the firmware has changed."] == [said for title, said in rows if title == "Taken over"]
