"""The filament reserve that the book holds of a printer, and what was changed since."""

from datetime import date
from pathlib import Path

import pytest

from commission.evidence.findings import function, meeting, series
from commission.evidence.findings.base import Finding
from commission.evidence.found import Established
from commission.evidence.runs import Note
from commission.judge import reserve
from commission.judge.advice import Advice
from commission.procedure.function.reserve_on_record import ReserveOnRecord
from commission.records.reserves import reserve_on_record
from tests.records.books import Workshop

FIRST, SECOND = "bench-3/2031-03-14/1", "bench-3/2031-03-15/1"
PATH = reserve.Path(40.0, leftover_mm=5.0)
WORKED_OUT = function.Reserve.of(PATH, reserve.reserve(PATH), ("Worked out.",))
LEFT_OUT = function.Reserve(sentences=("Left out.",), done=False)


@pytest.fixture(name="workshop")
def _workshop(tmp_path: Path) -> Workshop:
    """A workshop whose printer bench-3 is being installed; it announces its firmware."""
    workshop = Workshop(tmp_path)
    workshop.begin(FIRST)
    announced = meeting.PrinterIdentity(sentences=("It says.",), announced=True, firmware_name="ExampleFW 2")
    workshop.book.append(FIRST, Established(finding=announced))
    return workshop


def found(workshop: Workshop, *findings: Finding, run: str = FIRST) -> None:
    """These findings, in the run."""
    for finding in findings:
        workshop.book.append(run, Established.of(finding))


def noted(workshop: Workshop, tag: str, what: str) -> None:
    """A note between two runs."""
    workshop.book.append("notes", Note(tag_of_printer=tag, what=what, text="It was so.", person="R. Okafor"))


def kept(workshop: Workshop) -> ReserveOnRecord | None:
    """What is on record of bench-3."""
    return reserve_on_record(workshop.book, "bench-3")


def test_a_printer_without_a_reserve_has_none(workshop: Workshop) -> None:
    """One that was left out is none either, and that of another printer is not its own."""
    found(workshop, LEFT_OUT)
    workshop.begin("bench-4/2031-03-14/1", tag="bench-4")
    found(workshop, WORKED_OUT, run="bench-4/2031-03-14/1")

    assert kept(workshop) is None


def test_the_newest_reserve_is_on_record_with_its_firmware(workshop: Workshop) -> None:
    """A later one replaces it, one that is left out later does not."""
    found(workshop, WORKED_OUT)
    first = kept(workshop)
    workshop.begin(SECOND)
    found(workshop, LEFT_OUT, run=SECOND)

    assert first == kept(workshop)
    assert first is not None
    assert (WORKED_OUT.found, "ExampleFW 2", "") == (first.reserve, first.firmware, first.changed)
    assert date.fromisoformat(first.day)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (meeting.Repair(sentences=("Done.",), repair=Advice.INVERT_LOGIC), "a repair was done: "),
        (series.ChangeMade(sentences=("Done.",), what="sensor moved", by="R. Okafor"), "something was changed: "),
        (
            meeting.IdentityAfterReflash(sentences=("It says.",), port="fake", heard=()),
            "the firmware was put on the board anew",
        ),
    ],
)
def test_a_change_after_a_reserve_is_told(workshop: Workshop, change: Finding, said: str) -> None:
    """A change before it does not touch it."""
    found(workshop, change, WORKED_OUT)
    before = kept(workshop)
    found(workshop, change)
    after = kept(workshop)

    assert before is not None
    assert after is not None
    assert ("", True) == (before.changed, after.changed.startswith(said))


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("rewiring", "rewiring was noted"),
        ("reflash", "a reflash was noted"),
        ("incident", "an incident was noted"),
        ("remark", ""),
        ("new-filament", ""),
    ],
)
def test_a_note_of_a_change_is_told(workshop: Workshop, what: str, said: str) -> None:
    """Only notes after which path or firmware may be others, and only of this printer."""
    found(workshop, WORKED_OUT)
    noted(workshop, "bench-4", "rewiring")
    other = kept(workshop)
    noted(workshop, "bench-3", what)
    now = kept(workshop)

    assert other is not None
    assert now is not None
    assert ("", said) == (other.changed, now.changed)
