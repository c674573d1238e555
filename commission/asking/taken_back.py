"""The way back from what the book holds of an answer to the response that it was."""

from collections.abc import Iterable

from commission.asking.moving import Heard, Listen, MoveDone, MovesEnd, MovesRun, RunMoves, TimedSign
from commission.asking.request import (
    Ask,
    Choose,
    Confirm,
    Enter,
    Fingerprint,
    Hold,
    Keep,
    Release,
    Response,
    TakeTrial,
    Watch,
)
from commission.asking.response import HoldReleased, TimedReading, TrialTaken, WatchTaken
from commission.dialect.framing import RawLine
from commission.dialect.pausing import Question, Sign
from commission.dialect.replies import classify
from commission.evidence import measured, talk, wire
from commission.session import End, Exchange


class AnotherAnswer(Exception):
    """The book's next answer is none to this request, or does not hold all of it."""


def answer(request: Confirm | Choose | Enter, answered: talk.Answered) -> Response:
    """The answer as it was given, where the question still takes it."""
    given = answered.answer
    match request:
        case Confirm():
            takes_it = isinstance(given, bool)
        case Choose():
            takes_it = request.takes(given)
        case Enter():
            takes_it = isinstance(given, str) and (request.optional or bool(given))
    return _fits(answered.key == request.key and takes_it, given)


def granted(request: Release, answered: talk.ReleaseAnswered) -> Response:
    """The operator's word on the release."""
    return _fits(answered.key == request.key, answered.granted)


def heard(_request: Listen, told: wire.Heard) -> Response:
    """What was heard."""
    return Heard(_signs(told.signs), _question(told.open))


def path(request: Keep, kept: talk.FileKept) -> Response:
    """Where the file was written; its name may hold another day by now."""
    return _fits(kept.purpose == request.purpose, kept.path)


def _fits(fits: bool, response: Response) -> Response:  # noqa: FBT001 - the one condition
    if not fits:
        raise AnotherAnswer
    return response


def trial(request: TakeTrial, taken: measured.Trial) -> Response:
    """The trial as it was taken."""
    asked = (request.number, request.cycle, request.instruction, request.presence, request.switch)
    fits = asked == (taken.number, taken.cycle, taken.instruction, taken.presence, taken.switch)
    before, dwell = _readings(taken.before), _readings(taken.dwell)
    said = (taken.void_reason, taken.remark, taken.spoken, taken.void_before)
    return _fits(fits, TrialTaken(before, dwell, taken.unread, *said))


def watch(request: Watch, seen: measured.Watch) -> Response:
    """The watch as it was taken."""
    said = (seen.void_reason, seen.remark)
    read = _readings(seen.readings)
    taken = WatchTaken(read, seen.taken_s, seen.largest_gap_s, seen.unread, *said, slowed=seen.slowed)
    return _fits((request.key, request.switch) == (seen.key, seen.switch), taken)


def hold(request: Hold, held: talk.HoldReleased) -> Response:
    """What was seen at the hold point."""
    released = HoldReleased(held.restarted, held.port, held.heard, held.same_identity, held.port_gone, held.count_lost)
    return _fits(request.key == held.key, released)


def exchange(request: Ask, result: wire.Result) -> Response:
    """The answer as printable lines; its bytes, asides and moments are not read back."""
    answer = tuple(classify(RawLine.of(line)) for line in result.lines)
    exchange = Exchange(request.command, answer, (), End(result.end), 0.0, result.took_s)
    return _fits(request.command.text == result.command, exchange)


def moves(request: RunMoves, run: measured.Moves) -> Response:
    """What came of the moves."""
    block_s = request.pattern.block_s
    done = MovesRun(
        end=MovesEnd(run.end),
        moves=tuple(MoveDone(move.at_s, move.feed_mm, block_s) for move in run.moves),
        readings=_readings(run.readings),
        signs=_signs(run.signs),
        seconds=run.taken_s,
        silent=run.silent,
        question=_question(run.open),
        slowed=run.slowed,
    )
    return _fits(request.key == run.key, done)


def fingerprint(request: Fingerprint, found: talk.Fingerprinted) -> Response:
    """Which file it was."""
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
