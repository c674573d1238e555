"""The way back from what the book holds of an answer to the response that it was."""

from collections.abc import Iterable
from typing import TypeVar

from commission.asking.moving import Heard, Listen, MoveDone, MovesEnd, MovesRun, RunMoves, TimedSign
from commission.asking.request import (
    Ask,
    Choose,
    Confirm,
    Enter,
    Fingerprint,
    Hold,
    Keep,
    Recall,
    Release,
    Request,
    Response,
    TakeTrial,
    Watch,
)
from commission.asking.reread import RecordedAnswer
from commission.asking.response import HoldReleased, TimedReading, TrialTaken, WatchTaken
from commission.dialect.framing import RawLine
from commission.dialect.pausing import Question, Sign
from commission.dialect.replies import classify
from commission.evidence import measured, talk, wire
from commission.evidence.entry import Entry
from commission.session import End, Exchange

ANSWERED = (
    Confirm,
    Choose,
    Enter,
    Release,
    TakeTrial,
    Watch,
    Hold,
    Ask,
    RunMoves,
    Listen,
    Keep,
    Fingerprint,
    Recall,
)
"""The requests whose answers the book holds; what else a phase yields is answered by nothing."""
ANSWERS: tuple[type[Entry], ...] = (
    talk.Answered,
    talk.ReleaseAnswered,
    talk.HoldReleased,
    talk.FileKept,
    talk.Fingerprinted,
    talk.RecallAsked,
    measured.Trial,
    measured.Watch,
    measured.Moves,
    wire.Result,
    wire.Heard,
)
"""The entries that hold them."""
_E = TypeVar("_E", bound=Entry)


class AnotherAnswer(Exception):
    """The book's next answer is none to this request, or does not hold all of it."""


def response_of(request: Request, recorded: RecordedAnswer) -> Response:  # noqa: C901, PLR0911 - one case a request
    """The response that this request got.

    Raises:
        AnotherAnswer: the recorded answer is none to this request, or does not hold all of it.
    """
    entry = recorded.entry
    match request:
        case Confirm() | Choose() | Enter():
            answered = _of(entry, talk.Answered)
            return _fits(answered.key == request.key, answered.answer)
        case Release():
            released = _of(entry, talk.ReleaseAnswered)
            return _fits(released.key == request.key, released.granted)
        case TakeTrial():
            return _trial(request, _of(entry, measured.Trial))
        case Watch():
            return _watch(request, _of(entry, measured.Watch))
        case Hold():
            return _hold(request, _of(entry, talk.HoldReleased))
        case Ask():
            return _exchange(request, _of(entry, wire.Result))
        case RunMoves():
            return _moves(request, _of(entry, measured.Moves))
        case Listen():
            heard = _of(entry, wire.Heard)
            return Heard(_signs(heard.signs), _question(heard.open))
        case Keep():
            kept = _of(entry, talk.FileKept)
            return _fits(kept.purpose == request.purpose, kept.path)
        case Fingerprint():
            return _fingerprint(request, _of(entry, talk.Fingerprinted))
        case Recall():
            asked = _of(entry, talk.RecallAsked)
            fits = (asked.name, asked.earlier) == (request.kind.name(), request.earlier)
            return _fits(fits, recorded.finding)
    raise AnotherAnswer


def _of(entry: Entry, kind: type[_E]) -> _E:
    if not isinstance(entry, kind):
        raise AnotherAnswer
    return entry


def _fits(fits: bool, response: Response) -> Response:  # noqa: FBT001 - the one condition
    if not fits:
        raise AnotherAnswer
    return response


def _trial(request: TakeTrial, trial: measured.Trial) -> Response:
    asked = (request.number, request.cycle, request.instruction, request.presence, request.switch)
    fits = asked == (trial.number, trial.cycle, trial.instruction, trial.presence, trial.switch)
    before, dwell = _readings(trial.before), _readings(trial.dwell)
    return _fits(fits, TrialTaken(before, dwell, trial.unread, trial.void_reason, trial.remark))


def _watch(request: Watch, watch: measured.Watch) -> Response:
    taken = WatchTaken(_readings(watch.readings), watch.taken_s, watch.largest_gap_s, watch.unread)
    return _fits((request.key, request.switch) == (watch.key, watch.switch), taken)


def _hold(request: Hold, held: talk.HoldReleased) -> Response:
    released = HoldReleased(held.restarted, held.port, held.heard, held.same_identity, held.port_gone)
    return _fits(request.key == held.key, released)


def _exchange(request: Ask, result: wire.Result) -> Response:
    """The answer as printable lines; its bytes, asides and moments are not read back."""
    answer = tuple(classify(RawLine.of(line)) for line in result.lines)
    exchange = Exchange(request.command, answer, (), End(result.end), 0.0, result.took_s)
    return _fits(request.command.text == result.command, exchange)


def _moves(request: RunMoves, run: measured.Moves) -> Response:
    block_s = request.pattern.block_s
    done = MovesRun(
        end=MovesEnd(run.end),
        moves=tuple(MoveDone(move.at_s, move.feed_mm, block_s) for move in run.moves),
        readings=_readings(run.readings),
        signs=_signs(run.signs),
        seconds=run.taken_s,
        silent=run.silent,
        question=_question(run.open),
    )
    return _fits(request.key == run.key, done)


def _fingerprint(request: Fingerprint, found: talk.Fingerprinted) -> Response:
    file = found.file
    known = None if file is None else {each: getattr(file, each) for each in file.__struct_fields__}
    return _fits(request.path == found.path, known)


def _question(asked: wire.Open) -> Question | None:
    if asked is None:
        raise AnotherAnswer
    return next((Question(each.text, each.buttons) for each in asked), None)


def _readings(readings: Iterable[measured.TimedReading]) -> tuple[TimedReading, ...]:
    return tuple(TimedReading(each.at_s, each.reading, each.wire_word) for each in readings)


def _signs(signs: Iterable[wire.HeardSign]) -> tuple[TimedSign, ...]:
    return tuple(TimedSign(each.at_s, Sign(each.sign), each.text) for each in signs)
