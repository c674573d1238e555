"""A run that was broken off, as it can be taken up again."""

from pathlib import Path

import pytest

from commission.dialect.commands import Effect
from commission.evidence.runs import RunResumed
from commission.evidence.wire import Intent
from commission.records.continuation import BrokenOff, broken_off
from commission.records.notes import REMARK, add_note
from tests.records.books import Workshop
from tests.support.made import made

RUN, NEXT = "bench-3/2031-03-14/1", "bench-3/2031-03-14/2"


@pytest.fixture(name="workshop")
def _workshop(tmp_path: Path) -> Workshop:
    """A workshop without any run."""
    return Workshop(tmp_path)


def taken_up(workshop: Workshop, purpose: str = "full check") -> BrokenOff | None:
    """The broken-off run of bench-3 of that purpose."""
    return broken_off(workshop.book, "bench-3", purpose)


def half_a_run(workshop: Workshop, number: str = RUN, purpose: str = "full check") -> None:
    """A run with one phase that is done."""
    workshop.begin(number, purpose)
    workshop.phase(number, "wiring")


def test_a_run_with_a_done_phase_is_taken_up(workshop: Workshop) -> None:
    """Of that purpose, the newest; with what is done of it and when it was last at work."""
    assert taken_up(workshop) is None
    workshop.begin(RUN, "full check")
    assert taken_up(workshop) is None, "nothing of it is done"
    workshop.phase(RUN, "identify")
    assert taken_up(workshop) is None, "that phase is begun with each time"
    workshop.phase(RUN, "wiring")
    workshop.phase(RUN, "loop")
    workshop.phase(RUN, "wiring", ended=False)
    workshop.days_pass(1)
    workshop.phase(RUN, "motion", ended=False)
    found = taken_up(workshop)

    assert found is not None
    assert (RUN, ("loop",), "2031-03-15T09:26:53.000+00:00") == (found.number, found.done, found.last_at)
    assert (0, "the tool or the computer stopped") == (found.last_change, found.why)
    assert taken_up(workshop, "install") is None


def test_the_last_end_says_why(workshop: Workshop) -> None:
    """Of a run that was taken up and stopped twice, the second reason; without a word of it the usual one."""
    half_a_run(workshop)
    for why in ("the phone rang", "the shift was over"):
        workshop.end(RUN, "not judged", "stopped by the operator", why)
        workshop.book.append(RUN, made(RunResumed, number=RUN, tag="bench-3", purpose="full check"))
    found = taken_up(workshop)

    assert found is not None
    assert "the shift was over" == found.why


@pytest.mark.parametrize(
    ("effects", "place"),
    [
        ([], 0),
        ([Effect.READ_ONLY], 0),
        ([Effect.MOTION], 4),
        ([Effect.MOTION, Effect.READ_ONLY], 4),
        ([Effect.READ_ONLY, Effect.MOTION, Effect.MOTION], 6),
    ],
)
def test_the_last_command_that_did_something_is_told(workshop: Workshop, effects: list[Effect], place: int) -> None:
    """Where it stands in the book; none where all of them only asked."""
    half_a_run(workshop)
    for effect in effects:
        workshop.book.append(RUN, made(Intent, effect=effect))
    found = taken_up(workshop)

    assert found is not None
    assert place == found.last_change


@pytest.mark.parametrize(
    ("purpose", "after", "verdict", "outcome", "open_still"),
    [
        ("full check", "brief check", "pass", "complete", False),
        ("full check", "install", "fail", "complete", False),
        ("full check", "condition check", "pass", "complete", True),
        ("full check", "brief check", "not judged", "link lost", True),
        ("install", "full check", "pass", "complete", True),
    ],
)
def test_a_check_is_past_once_another_was_completed(
    workshop: Workshop, purpose: str, after: str, verdict: str, outcome: str, *, open_still: bool
) -> None:
    """One with hands, behind it; an installation is gone on with in any case."""
    half_a_run(workshop, purpose=purpose)
    workshop.begin(NEXT, after)
    workshop.end(NEXT, verdict, outcome)

    assert open_still is (taken_up(workshop, purpose) is not None)


def test_the_newest_run_of_its_purpose_alone_is_taken_up(workshop: Workshop) -> None:
    """One that came to its end is over, whatever was broken off before; one that never reached the printer is none."""
    half_a_run(workshop)
    workshop.begin(NEXT, "full check")
    workshop.end(NEXT, "not judged", "not connected")
    add_note(workshop.book, "bench-3", REMARK, "dusty")
    found = taken_up(workshop)
    workshop.whole_run("bench-3/2031-03-14/3", "full check")

    assert found is not None
    assert RUN == found.number
    assert taken_up(workshop) is None
