"""What was done, phase by phase: each with its time, and only what happened in it."""

from pathlib import Path
from typing import Any

import pytest

from commission.evidence.runs import PhaseEnded, PhaseStarted
from commission.evidence.talk import HoldOpened, HoldReleased
from commission.report.document import Paragraph, Section, Table
from commission.report.record import read_run
from commission.report.work import work_section
from tests.report.scripted_run import NUMBER, ScriptedRun


def parts(run: ScriptedRun) -> list[Section]:
    """The phases as the report tells them."""
    return list(work_section(read_run(run.book, NUMBER)).parts)


def rows(section: Section) -> list[str]:
    """What was done in one of them."""
    (block,) = section.blocks
    assert isinstance(block, Table)
    return [row[1] for row in block.rows]


def phase(run: ScriptedRun, name: str, *findings: str, seconds: float = 0.0) -> None:
    """A phase that finds something and ends."""
    run.write(PhaseStarted(name=name, title=name.capitalize()))
    for finding in findings:
        run.finding(finding, "Found.")
    run.wait(seconds)
    run.write(PhaseEnded(name=name))


def test_a_phase_is_headed_by_its_time(tmp_path: Path) -> None:
    """A long one by beginning and end, one within a second by that second, a broken-off one by its beginning."""
    run = ScriptedRun(tmp_path)
    run.start()
    phase(run, "first", "polarity", seconds=31)
    phase(run, "second", "advice")
    run.write(PhaseStarted(name="third", title="Third"))

    headings = [part.heading for part in parts(run)]
    assert ["First (09:26:53 to 09:27:24)", "Second (09:27:24)", "Third (09:27:24, without an end)"] == headings


def test_findings_of_two_phases_stay_apart(tmp_path: Path) -> None:
    """Those in a row within a phase are told together, the first of the next phase stands in that phase."""
    run = ScriptedRun(tmp_path)
    run.start()
    phase(run, "first", "polarity", "advice")
    phase(run, "second", "wiggle", "reserve")

    assert [["Established: polarity, advice."], ["Established: wiggle, reserve."]] == list(map(rows, parts(run)))


def test_a_phase_in_which_nothing_was_told_is_said_to_be_one(tmp_path: Path) -> None:
    """It stands with its time all the same."""
    run = ScriptedRun(tmp_path)
    run.start()
    phase(run, "first")

    (part,) = parts(run)
    assert (Paragraph("Nothing was asked, sent or found in it.", "quiet"),) == part.blocks


@pytest.mark.parametrize(
    ("power", "seen", "said"),
    [
        (True, {}, "Power: on the operator's word."),
        (True, {"restarted": True}, "Power: restart seen."),
        (True, {"restarted": True, "port_gone": True}, "Power: power-off seen."),
        (False, {}, "Hold point released by the operator."),
    ],
)
def test_what_was_seen_of_a_power_off_is_told(tmp_path: Path, power: bool, seen: dict[str, Any], said: str) -> None:
    """At every hold point with the power off; where nothing was seen, that it rests on the operator's word."""
    run = ScriptedRun(tmp_path)
    run.start()
    run.write(PhaseStarted(name="first", title="First"))
    run.write(HoldOpened(key="unplug.1", title="Unplug", steps=("Unplug it.",), power=power))
    run.write(HoldReleased(key="unplug.1", **seen))

    assert rows(parts(run)[-1])[-1].endswith(said)
