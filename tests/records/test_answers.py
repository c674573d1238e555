"""What a done phase was answered, read back for a run that is taken up again."""

from pathlib import Path

import pytest

from commission.asking.reread import RecordedAnswer
from commission.evidence.entry import About, Entry
from commission.evidence.findings.loop import Polarity
from commission.evidence.findings.meeting import Repair
from commission.evidence.runs import PhaseEnded, PhaseStarted
from commission.evidence.talk import RecallAsked, Recalled, Told
from commission.evidence.wire import Result
from commission.records.answers import given_in
from commission.vocabulary import SwitchBehaviour
from tests.records.books import Workshop
from tests.support.made import found, made

BEFORE, RUN = "bench-3/2031-03-13/1", "bench-3/2031-03-14/1"
ANSWER, OTHER = Result(command="M119", end="acknowledged", lines=("ok",)), Result(command="M115", end="acknowledged")
DIRECT = made(Polarity, sentences=("Found.",), behaviour=SwitchBehaviour.DIRECT)
INVERTED = made(Polarity, sentences=("Found.",), behaviour=SwitchBehaviour.INVERTED)
BEGINS, ENDS = PhaseStarted(name="loop", title="Loop"), PhaseEnded(name="loop")


@pytest.fixture(name="workshop")
def _workshop(tmp_path: Path) -> Workshop:
    """An earlier run that found the polarity direct, and a run that was begun."""
    workshop = Workshop(tmp_path)
    workshop.begin(BEFORE)
    workshop.book.append(BEFORE, found(Polarity, "Found.", behaviour=SwitchBehaviour.DIRECT), About(sensor="one"))
    workshop.begin(RUN)
    return workshop


def given(workshop: Workshop, *written: Entry) -> tuple[RecordedAnswer, ...]:
    """The answers of the phase, after these entries were written."""
    for each in written:
        workshop.book.append(RUN, each)
    return given_in(workshop.book, RUN, "loop")


def test_the_newest_carrying_out_is_read_back(workshop: Workshop) -> None:
    """Its answers in order, without what was said; nothing of another phase, nor while it has come to no end."""
    other = PhaseStarted(name="motion", title="Motion"), OTHER, PhaseEnded(name="motion")
    assert () == given(workshop, BEGINS, ANSWER)
    assert () == given(workshop, PhaseEnded(name="motion"))
    assert (RecordedAnswer(ANSWER),) == given(workshop, ENDS, OTHER)
    assert () == given(workshop, *other, BEGINS, OTHER)
    expected = RecordedAnswer(OTHER), RecordedAnswer(ANSWER)
    assert expected == given(workshop, Told(heading="a word"), ANSWER, ENDS)
    assert expected == given(workshop, *other)


@pytest.mark.parametrize(
    ("asked", "answer"),
    [
        (RecallAsked(name="polarity"), None),
        (RecallAsked(name="polarity", earlier=True), DIRECT),
        (RecallAsked(name="polarity", earlier=True, not_of=("two",)), DIRECT),
        (RecallAsked(name="polarity", earlier=True, not_of=("one",)), None),
        (RecallAsked(name="repair", earlier=True), None),
        (RecallAsked(name="nothing that is known here", earlier=True), None),
    ],
)
def test_a_finding_is_read_back_as_it_stood(workshop: Workshop, asked: RecallAsked, answer: Polarity | None) -> None:
    """Of this run or the earlier ones; what was found since does not count."""
    there = Recalled(name=asked.name, found=answer is not None)
    later = [found(kind, "Found.") for kind in (Polarity, Repair)]

    assert (RecordedAnswer(asked, answer),) == given(workshop, BEGINS, asked, there, *later, ENDS)
    workshop.book.append(BEFORE, later[0])
    assert (RecordedAnswer(asked, answer),) == given_in(workshop.book, RUN, "loop")


def test_the_newest_finding_before_the_request_counts(workshop: Workshop) -> None:
    """In the run itself, whatever stood there earlier."""
    asked, there = RecallAsked(name="polarity"), Recalled(name="polarity", found=True)
    entries = [found(Polarity, "Found.", behaviour=each.behaviour) for each in (DIRECT, INVERTED)]

    assert (RecordedAnswer(asked, INVERTED),) == given(workshop, BEGINS, *entries, asked, there, ENDS)


@pytest.mark.parametrize("earlier", [True, False])
def test_what_cannot_be_found_again_gives_no_answers(workshop: Workshop, *, earlier: bool) -> None:
    """Where the book says otherwise than it did then, the phase is done anew."""
    asked = RecallAsked(name="polarity", earlier=earlier)

    assert () == given(workshop, BEGINS, ANSWER, asked, Recalled(name="polarity", found=not earlier), ENDS)
