"""A run without a printer: what it says, keeps and refuses."""

from pathlib import Path

import pytest

from commission.asking.message import Establish, Punch, Tell
from commission.asking.request import Confirm, PhaseBegins, PhaseEnds
from commission.asking.steps import Steps
from commission.conductor.on_paper import NeedsAPrinter, OnPaper
from commission.conductor.scribe import Scribe
from commission.evidence.findings.loop import StartUp
from commission.evidence.found import Established
from commission.evidence.talk import Punched
from commission.records.book import Book
from commission.vocabulary import PunchClass
from tests.support.fake_bench import RUN
from tests.support.fake_desk import FakeDesk
from tests.support.fake_hand import FakeHand
from tests.support.fake_time import FakeClock
from tests.support.made import made

UNSAFE = Punch(PunchClass.UNSAFE, "It reads in with filament out.", "Mend it.")
MINOR = Punch(PunchClass.MINOR, "The label is missing.", "Print one.")


def said() -> Steps[str]:
    """A phase with a message, a finding and two open items."""
    yield PhaseBegins("capture", "A capture is read")
    yield Tell(("Read it.",))
    yield Establish(made(StartUp, sentences=("It reads as before.",)))
    yield UNSAFE
    yield MINOR
    yield PhaseEnds("capture")
    return "done"


def asked() -> Steps[str]:
    """A question, which only a person can answer."""
    yield Confirm("ready", "Ready?")
    return "answered"


async def test_what_is_said_is_shown_and_written(tmp_path: Path) -> None:
    """The desk gets heading, message, finding and items; the book has them, and the unsafe ones are counted."""
    desk = FakeDesk()
    with Book(tmp_path / "book.sqlite3", FakeClock()) as book:
        ended = await OnPaper(desk, Scribe(book, RUN, hand=FakeHand()), tmp_path).run(said())
        written = [record.entry for record in book.records(Punched)]
        findings = [record.entry for record in book.records(Established)]

    assert ("done", 1) == (ended.result, ended.unsafe_items)
    assert ["A capture is read", "Read it."] == desk.told
    assert [UNSAFE, MINOR] == desk.items
    assert [(PunchClass.UNSAFE, UNSAFE.text), (PunchClass.MINOR, MINOR.text)] == [
        (item.grade, item.text) for item in written
    ]
    assert ["It reads as before."] == [sentence for each in findings for sentence in each.finding.sentences]
    assert ("It reads as before.",) == desk.findings[StartUp].sentences


async def test_a_question_needs_somebody(tmp_path: Path) -> None:
    """A procedure that asks a person or a printer is an error of this program, found at its first question."""
    with (
        Book(tmp_path / "book.sqlite3", FakeClock()) as book,
        pytest.raises(NeedsAPrinter, match="Confirm needs a printer or a person"),
    ):
        await OnPaper(FakeDesk(), Scribe(book, RUN, hand=FakeHand()), tmp_path).run(asked())
