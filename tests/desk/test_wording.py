"""The words of the desk."""

import pytest

from commission.asking.message import Establish, Punch, Tell, Weight
from commission.asking.request import Enter, EntryKind, Hold
from commission.asking.response import TrialTaken, WatchTaken
from commission.desk import wording
from commission.desk.base import Status
from commission.desk.choosing import is_dumb
from commission.evidence.findings.loop import FailSafeFound
from commission.evidence.findings.settings import NoStorage
from commission.vocabulary import FailSafe, PunchClass, Reading, Spoken
from tests.desk.requests import INSERT, WIGGLE, reading


@pytest.mark.parametrize(
    ("message", "lines"),
    [
        (Tell(("a", "b")), ["a", "b"]),
        (Tell(("a",), "Head", Weight.STEP), ["Head", "a"]),
        (Tell((), "Loop check", Weight.STEP), ["Loop check"]),
        (Tell(("a",), "Head", Weight.DANGER), ["DANGER: Head", "a"]),
        (Tell(("a", "b"), weight=Weight.CAUTION), ["CAUTION: a", "b"]),
        (Tell(("a",), weight=Weight.FINDING), ["Finding: a"]),
        (Tell(("a",), "Result", Weight.FINDING), ["Result", "a"]),
        (Tell(()), [""]),
    ],
)
def test_messages(message: Tell, lines: list[str]) -> None:
    """A weight that matters stands as a word before the first line; under a heading of its own a finding needs none."""
    assert lines == wording.tell(message)


@pytest.mark.parametrize(
    ("request_", "bounds"),
    [
        (Enter("e", "q"), ""),
        (Enter("e", "q", optional=True), "may be left empty"),
        (Enter("e", "q (empty: not known)", optional=True), ""),
        (Enter("e", "q", EntryKind.NUMBER), ""),
        (Enter("e", "q", EntryKind.NUMBER, "mm"), "mm"),
        (Enter("e", "q", EntryKind.NUMBER, "mm", 0), "mm, at least 0"),
        (Enter("e", "q", EntryKind.NUMBER, "mm", None, 12.5), "mm, at most 12.5"),
        (Enter("e", "q", EntryKind.NUMBER, "", 1, 2, optional=True), "from 1 to 2, may be left empty"),
    ],
)
def test_bounds(request_: Enter, bounds: str) -> None:
    """Unit and bounds are said together."""
    assert bounds == wording.bounds(request_)


@pytest.mark.parametrize(
    ("taken", "line"),
    [
        (
            TrialTaken((), (reading(0, True), reading(1, False), reading(2, True))),
            "Prompt 1, insert: 3 readings, 2 active (TRIGGERED) and 1 inactive (open).",
        ),
        (TrialTaken((), (reading(0, True),)), "Prompt 1, insert: 1 reading, all active (TRIGGERED)."),
        (TrialTaken((), (), unread=2), "Prompt 1, insert: 2 queries brought no reading."),
        (
            TrialTaken((), (reading(0, True),), void_reason="it slipped", spoken=Spoken.LATER),
            "Prompt 1, insert: 1 reading, all active (TRIGGERED). Set aside after its dwell began: it slipped.",
        ),
        (
            TrialTaken((reading(0, True),), (), void_reason="it slipped", spoken=Spoken.BEFORE),
            "Prompt 1, insert: Set aside before its dwell: it slipped.",
        ),
        (
            TrialTaken((), (reading(0, True, "H"), reading(0, True, "1")), remark="nothing changed"),
            "Prompt 1, insert: 2 readings, all active (H, 1). The operator says: nothing changed.",
        ),
    ],
)
def test_trial_in_one_line(taken: TrialTaken, line: str) -> None:
    """A dwell is summed up by counts, the printer's words, and what the operator said."""
    assert line == wording.trial_taken(INSERT, taken)


def test_steady_watch_in_one_line() -> None:
    """A watch without a change says so."""
    taken = WatchTaken((reading(0, False), reading(60, False)), 60.0, 0.11)

    assert "Wiggle the cable: 2 readings, all inactive (open) in 1.0 min, 0 changes, largest gap 110 ms." == (
        wording.watch_taken(WIGGLE, taken)
    )


def test_cautions_of_a_hold_point() -> None:
    """A caution that carries its word keeps it, any other gets one."""
    hold = Hold("h", "t", (), "r", cautions=("DANGER: mains", "CAUTION: hot", "sharp"))

    assert ["DANGER: mains", "CAUTION: hot", "CAUTION: sharp"] == wording.hold_cautions(hold)


def test_findings_and_open_items() -> None:
    """A finding without a sentence is called by its name; a cure is only said where there is one."""
    assert ["Finding: fail safe"] == wording.establish(Establish(FailSafeFound(fail_safe=FailSafe.SAFE, power_ups=2)))
    assert ["Finding: a", "Finding: b"] == wording.establish(Establish(NoStorage(sentences=("a", "b"))))
    assert ["Finding: c"] == wording.establish(Establish(NoStorage(sentences=("a", "b")), ("c",)))
    assert "Open item C (minor): a label is missing" == wording.punch(Punch(PunchClass.MINOR, "a label is missing"))


@pytest.mark.parametrize(
    ("status", "line"),
    [
        (Status(), "Reading: not read yet"),
        (Status(Reading.ACTIVE, "TRIGGERED"), "Reading: active (TRIGGERED)"),
        (Status(Reading.UNKNOWN), "Reading: unknown"),
        (
            Status(Reading.INACTIVE, "open", 0.2, "reading 1 of 21", "the printer is busy"),
            "Reading: inactive (open)   1 s left   reading 1 of 21   the printer is busy",
        ),
        (Status(Reading.ACTIVE, seconds_left=0.0), "Reading: active"),
    ],
)
def test_live_line(status: Status, line: str) -> None:
    """The live line says what is known and leaves out what is not."""
    assert line == wording.live_line(status)


def test_line_ends_within_a_text() -> None:
    """A text of several lines becomes one, so that no text can pass for a line of its own."""
    assert "open DANGER: forged" == wording.clean("open\r\nDANGER: forged")


@pytest.mark.parametrize(
    ("environment", "platform", "dumb"),
    [
        ({"TERM": "dumb"}, "linux", True),
        ({"TERM": "unknown"}, "darwin", True),
        ({}, "linux", True),
        ({"TERM": "xterm-256color"}, "linux", False),
        ({}, "win32", False),
    ],
)
def test_dumb_terminals(environment: dict[str, str], platform: str, dumb: bool) -> None:
    """A terminal is dumb when it says so or has no name; Windows names none."""
    assert dumb == is_dumb(environment, platform)
