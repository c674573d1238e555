"""Watches that were not read as fast as the wire allows: the report says why, each reason once."""

from pathlib import Path

import pytest

from commission.evidence.measured import Moves
from commission.report.as_json import as_json
from commission.report.document import Paragraph, Section
from commission.report.record import read_run
from commission.report.trials import trials_section
from commission.report.trials_in_short import trials_in_short
from commission.vocabulary import Slowed
from tests.report.scripted_run import NUMBER, ScriptedRun

LOST = "Wiggle. Not read as fast as the wire allows: an answer was lost."
BUSY = "Steady? Moving. Not read as fast as the wire allows: the printer said that it was busy."


@pytest.fixture(name="run")
def _run(tmp_path: Path) -> ScriptedRun:
    """One watch slowed by a lost answer, twice, two by a busy printer, and one that was not slowed."""
    run = ScriptedRun(tmp_path)
    run.start()
    for title, slowed in (
        ("Wiggle.", Slowed.LOST),
        ("Wiggle.", Slowed.LOST),
        ("Steady?", Slowed.BUSY),
        ("Moving.", Slowed.BUSY),
        ("Unplugged", None),
    ):
        run.watch(title, "in", ["active"] * 5, slowed=slowed)
    run.end()
    return run


def paragraphs(section: Section) -> list[str]:
    """What stands in it beside tables."""
    return [block.text for block in section.blocks if isinstance(block, Paragraph)]


def test_each_reason_stands_once_with_its_watches(run: ScriptedRun) -> None:
    """Under the table of watches, in the order in which they came."""
    assert [LOST, BUSY] == paragraphs(trials_section(read_run(run.book, NUMBER)))


def test_test_moves_tell_theirs(run: ScriptedRun) -> None:
    """Readings beside moves have no title of their own; they stand with the watches of the same reason."""
    run.write(Moves(key="moving", end="", moves=(), readings=(), taken_s=1.0, slowed=Slowed.LOST))

    assert LOST.replace("Wiggle.", "Wiggle. Test moves.") in paragraphs(trials_section(read_run(run.book, NUMBER)))


def test_the_short_report_has_them_too(run: ScriptedRun) -> None:
    """Behind what was watched."""
    (said,) = paragraphs(trials_in_short(read_run(run.book, NUMBER)))

    assert said.endswith(f"{LOST} {BUSY}")


def test_the_data_name_the_reason_of_each(run: ScriptedRun) -> None:
    """Null where it was read as fast as it goes."""
    watches = as_json(read_run(run.book, NUMBER))["watches"]

    assert [Slowed.LOST.value] * 2 + [Slowed.BUSY.value] * 2 + [None] == [each["slowed"] for each in watches]
