"""A phase's result worked out again from recorded answers, or nothing where they do not fit."""

import json
from dataclasses import replace

import msgspec
import pytest

from commission.asking.moving import Heard, Listen, MoveDone, MovePattern, MovesEnd, MovesRun, RunMoves, TimedSign
from commission.asking.replay import played_back
from commission.asking.request import (
    Ask,
    Choose,
    Confirm,
    Enter,
    Fingerprint,
    Hold,
    Keep,
    Option,
    Recall,
    Release,
    Request,
    Response,
    TakeTrial,
    Watch,
)
from commission.asking.reread import RecordedAnswer
from commission.asking.response import HoldReleased, TimedReading, TrialTaken, WatchTaken
from commission.asking.steps import Steps, confirm, establish, take
from commission.asking.table import after, response_of
from commission.asking.taken_back import AnotherAnswer
from commission.dialect.commands import COUNTERS, IDENTITY, Effect
from commission.dialect.pausing import Question, Sign
from commission.evidence import talk, wire
from commission.evidence.codec import read
from commission.evidence.codec import written as to_write
from commission.evidence.entry import Entry
from commission.evidence.findings import loop
from commission.judge.plan import Plan
from commission.session import End, Exchange
from commission.vocabulary import Instruction, Presence, Reading, Slowed, Spoken

PLAN = Plan(seed=1, cycles=6)


def trial(switch: str = "filament") -> TakeTrial:
    """The one trial that is asked for."""
    return TakeTrial(1, 12, 1, Instruction.INSERT, Presence.IN, switch, PLAN.countdown_s, 1, PLAN.dwell_s)


def written(request: Request, response: Response) -> Entry:
    """What the book holds of this answer."""
    entry = after(request, response)
    assert entry is not None
    return entry


TAKEN = TrialTaken((), (TimedReading(0.0, Reading.ACTIVE, "shut"),))
YES = RecordedAnswer(talk.Answered(key="ready", answer=True))
TRIAL = RecordedAnswer(written(trial(), TAKEN))


def phase(switch: str = "filament") -> Steps[tuple[bool, Reading]]:
    """Asks, takes one trial, and says what it read."""
    ready = yield from confirm(Confirm("ready", "Ready?"))
    taken = yield from take(trial(switch))
    yield from establish(loop.TestsDone(sentences=("It was read.",), observations=()))
    return ready, taken.dwell[0].reading


def test_the_same_answers_come_to_the_same_result() -> None:
    """Each answer goes to the request it was given to; what is only said needs none."""
    assert (True, Reading.ACTIVE) == played_back(phase(), [YES, TRIAL])


@pytest.mark.parametrize(
    ("given", "switch"),
    [
        ([], "filament"),
        ([YES], "filament"),
        ([TRIAL, YES], "filament"),
        ([YES, TRIAL, YES], "filament"),
        ([YES, TRIAL], "filament_2"),
    ],
    ids=["none", "too few", "another order", "too many", "another switch"],
)
def test_answers_that_do_not_fit_are_no_result(given: list[RecordedAnswer], switch: str) -> None:
    """A phase that asks otherwise than it did has no result in the book."""
    assert played_back(phase(switch), given) is None


MOVES = RunMoves("pull", "Pull", (), "pull", "filament", MovePattern(1.0, 10.0, 0.5), 1.0, 5.0, 5.0, "function")
ASKED = Question("Filament runout", ("Continue", "Purge"))
READINGS = (TimedReading(0.25, Reading.INACTIVE, "open"), TimedReading(0.5, Reading.ACTIVE, "shut"))
SIGNS = (TimedSign(0.75, Sign.RUNOUT, "runout"),)
RUN = MovesRun(MovesEnd.STOPPED, (MoveDone(0.5, 1.0, 0.5),), READINGS, SIGNS, 2.5, silent=True, question=ASKED)
FILE = {"name": "new.bin", "place": "/builds", "sha256": "0" * 64, "bytes": 4096}
ANSWERED: list[tuple[Request, Response]] = [
    (Confirm("a", "So?"), False),
    (Choose("b", "Which?", (Option("x", "x"), Option("y", "y"))), "y"),
    (Enter("c", "What?"), "that"),
    (Release("d", "move", ("It moves.",), frozenset({Effect.MOTION})), False),
    (trial(), TrialTaken(READINGS, READINGS, 2, "slipped", "looked", Spoken.LATER, "that one")),
    (
        Watch("e", "Steady?", (), "filament", None, 1.0, 10),
        WatchTaken(READINGS, 1.5, 0.25, 1, "the finger slipped", "late", slowed=Slowed.LOST),
    ),
    (Hold("f", "Off", ("Pull it.",), "Done?", power=True), HoldReleased(True, "fake", ("start",), False, True)),
    (MOVES, RUN),
    (MOVES, replace(RUN, question=None, silent=False, slowed=Slowed.BUSY)),
    (Listen(1.0, frozenset({Sign.RUNOUT})), Heard(SIGNS, ASKED)),
    (Listen(1.0, frozenset()), Heard(())),
    (Fingerprint("/builds/new.bin"), FILE),
    (Fingerprint("/nothing"), None),
]
"""One request of each kind whose answer is written as an entry, with an answer that says all there is to say."""


@pytest.mark.parametrize(("request_", "response"), ANSWERED, ids=lambda each: type(each).__name__)
def test_an_answer_comes_back_as_it_was(request_: Request, response: Response) -> None:
    """What the book holds of an answer is the whole of it, and fits no other request of its kind."""
    recorded = RecordedAnswer(read_entry(written(request_, response)))

    assert response == response_of(request_, recorded)
    others = [other for other, _ in ANSWERED if type(other) is not type(request_)]
    assert not any(fits(other, recorded) for other in others)


WHICH = Choose("b", "Which?", (Option("x", "x"), Option("y", "y")))


@pytest.mark.parametrize(
    ("request_", "entry"),
    [
        (WHICH, talk.Answered(key="b", answer="z")),
        (WHICH, talk.Answered(key="b", answer=True)),
        (Confirm("a", "So?"), talk.Answered(key="a", answer="yes")),
        (Confirm("a", "So?"), talk.Answered(key="b", answer=True)),
        (Enter("c", "What?"), talk.Answered(key="c", answer="")),
        (Enter("c", "What?"), talk.Answered(key="c", answer=False)),
        (Ask(IDENTITY), wire.Result(command=IDENTITY.text, end="in a word of another version")),
        (Listen(1.0, frozenset()), wire.Heard(signs=(wire.HeardSign(0.0, "a sign of another version", ""),), open=())),
    ],
)
def test_an_answer_that_is_not_taken_any_more_fits_nothing(request_: Request, entry: Entry) -> None:
    """An option that is gone, another kind of answer or a word of another version has the phase done again."""
    assert not fits(request_, RecordedAnswer(entry))


def fits(request_: Request, recorded: RecordedAnswer) -> bool:
    """Whether it is taken for an answer to that request."""
    try:
        response_of(request_, recorded)
    except AnotherAnswer:
        return False
    return True


def test_an_exchange_comes_back_by_its_lines() -> None:
    """The printer's answer is the same lines, read anew; how long it took is kept, its moments are not."""
    lines = ("FIRMWARE_NAME:ExampleFW 102.1.2", "ok")
    entry = wire.Result(command=IDENTITY.text, end=End.ACKNOWLEDGED.value, lines=lines, took_s=0.25)
    exchange = response_of(Ask(IDENTITY), RecordedAnswer(entry))

    assert isinstance(exchange, Exchange)
    assert (lines, End.ACKNOWLEDGED, 0.25) == (exchange.lines, exchange.end, exchange.ended_s)
    assert not fits(Ask(COUNTERS), RecordedAnswer(entry))


def test_a_file_comes_back_by_its_purpose() -> None:
    """Its name holds the day, which may be another one when the run is taken up; its place is where it was written."""
    kept = talk.FileKept(path="/papers/a-1.txt", purpose="to read", sha256="0" * 64, bytes=3)

    assert "/papers/a-1.txt" == response_of(Keep("a-2.txt", "new", "to read"), RecordedAnswer(kept))
    assert not fits(Keep("a-2.txt", "new", "to send"), RecordedAnswer(kept))


def test_a_finding_that_was_read_back_comes_back() -> None:
    """It is the one that was found then, from the same runs; none is an answer too."""
    asked = talk.RecallAsked(name=loop.TestsDone.name(), earlier=True)
    found = loop.TestsDone(observations=())

    assert found == response_of(Recall(loop.TestsDone, earlier=True), RecordedAnswer(asked, found))
    assert response_of(Recall(loop.TestsDone, earlier=True), RecordedAnswer(asked)) is None
    assert not fits(Recall(loop.TestsDone), RecordedAnswer(asked, found))
    assert not fits(Recall(loop.Wiggle, earlier=True), RecordedAnswer(asked, found))


@pytest.mark.parametrize(
    ("request_", "entry"),
    [
        (MOVES, {**msgspec.to_builtins(written(MOVES, RUN)), "open": None}),
        (Listen(1.0, frozenset()), {"kind": "heard", "signs": []}),
    ],
)
def test_what_an_earlier_release_wrote_is_no_whole_answer(request_: Request, entry: dict[str, object]) -> None:
    """It did not keep which question was open, so that a phase with moves in it is done again."""
    kind = str(entry.pop("kind"))
    old, _ = read(kind, json.dumps(entry))

    assert isinstance(old, Entry)
    assert not fits(request_, RecordedAnswer(old))


def read_entry(entry: Entry) -> Entry:
    """It once written into the book and read back."""
    back, _ = read(entry.kind(), json.dumps(to_write(entry)))
    assert isinstance(back, Entry)
    return back
