"""Findings in the report: one that was established twice is drawn once."""

from pathlib import Path

from commission.report.document import Figure, Paragraph
from commission.report.findings import findings_section
from commission.report.record import read_run
from tests.report.scripted_run import NUMBER, RUNS

SVG = '<svg xmlns="http://www.w3.org/2000/svg"><desc>{}</desc></svg>'


def test_what_was_declared_again_is_drawn_once(tmp_path: Path) -> None:
    """Both declarations are told, the earlier one says that it was made again, and only the newest is drawn."""
    run = RUNS["complete"](tmp_path)
    for number, said in enumerate(("two wires", "three wires"), 1):
        run.finding("wiring", f"Declaration {number}: {said}.", picture=SVG.format(said), picture_description=said)

    section = findings_section(read_run(run.book, NUMBER))
    parts = [part for part in section.parts if part.heading == "Wiring"]

    assert 2 == len(parts)
    assert ["three wires"] == [b.caption for part in parts for b in part.blocks if isinstance(b, Figure)]
    told = [block.text for block in parts[0].blocks if isinstance(block, Paragraph)]
    assert ["Declaration 1: two wires.", "Established again later in the run; the picture is drawn there."] == told
