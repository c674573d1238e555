"""Every request in one table: who fulfils it, and its way into the book and back.

What is written of an answer gives that answer back (`replay`), so both ways stand in one row. A request without a way
back is answered by nothing, or reads what the book holds by itself.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Any

from commission.asking import taken_back as back
from commission.asking import written
from commission.asking.form import Form, Known
from commission.asking.message import Establish, Punch, Tell
from commission.asking.moving import Listen, RunMoves, Say
from commission.asking.request import (
    Ask,
    Choose,
    Confirm,
    Enter,
    Fingerprint,
    Hold,
    Keep,
    PhaseBegins,
    PhaseEnds,
    Recall,
    Release,
    Request,
    Response,
    TakeTrial,
    Watch,
)
from commission.asking.reread import RecordedAnswer, Reread
from commission.asking.soak import Soak
from commission.asking.taken_back import AnotherAnswer
from commission.evidence import measured, runs, talk, wire
from commission.evidence.entry import Entry
from commission.evidence.found import Established


class By(Enum):
    """Who fulfils a request."""

    SAYING = "it is only said"
    QUESTION = "a person answers"
    HANDS = "a person does something, and what is seen meanwhile is read"
    RELEASE = "a person lets something go out"
    LINE = "the printer answers"
    BOOK = "the book is read"
    FILES = "a file is written or looked at"
    BEFOREHAND = "a person has answered it already"


@dataclass(frozen=True)
class Row:
    """What there is to know of a request.

    Attributes:
        by: who fulfils it.
        before: the entry that is written before it is fulfilled.
        after: the entry of its response; None where there is nothing to add, or its fulfiller writes that.
        holds: the kind of entry that holds the answer; None for a request that is answered by nothing.
        back: the response, from the request and that entry; it raises `AnotherAnswer` where they do not fit.
    """

    by: By
    before: Callable[[Any], Entry]
    after: Callable[[Any, Any], Entry] | None = None
    holds: type[Entry] | None = None
    back: Callable[[Any, Any], Response] | None = None


TABLE: Mapping[type, Row] = {
    Tell: Row(By.SAYING, written.told),
    Establish: Row(By.SAYING, lambda request: Established.of(request.finding)),
    Punch: Row(By.SAYING, written.punched),
    PhaseBegins: Row(By.SAYING, lambda request: runs.PhaseStarted(name=request.name, title=request.title)),
    PhaseEnds: Row(By.SAYING, lambda request: runs.PhaseEnded(name=request.name)),
    Confirm: Row(By.QUESTION, written.question, written.answered, talk.Answered, back.answer),
    Choose: Row(By.QUESTION, written.asked_of_a_list, written.answered, talk.Answered, back.answer),
    Enter: Row(By.QUESTION, written.question, written.answered, talk.Answered, back.answer),
    Form: Row(By.QUESTION, written.form_put),
    Known: Row(By.BEFOREHAND, written.known, lambda known, answer: written.answered(known.question, answer)),
    TakeTrial: Row(By.HANDS, written.trial_began, written.trial, measured.Trial, back.trial),
    Watch: Row(By.HANDS, written.watch_began, written.watch, measured.Watch, back.watch),
    Soak: Row(By.HANDS, written.soak_began),
    Hold: Row(
        By.HANDS,
        lambda request: talk.HoldOpened(key=request.key, title=request.title, steps=request.steps, power=request.power),
        written.hold_released,
        talk.HoldReleased,
        back.hold,
    ),
    Release: Row(
        By.RELEASE,
        written.release_asked,
        lambda request, granted: talk.ReleaseAnswered(key=request.key, granted=granted),
        talk.ReleaseAnswered,
        back.granted,
    ),
    Ask: Row(By.LINE, written.intent, written.result, wire.Result, back.exchange),
    Say: Row(By.LINE, written.intent),
    RunMoves: Row(By.LINE, written.moves_began, written.moves, measured.Moves, back.moves),
    Listen: Row(By.LINE, written.listening, written.heard, wire.Heard, back.heard),
    Recall: Row(
        By.BOOK,
        written.recall_asked,
        written.recalled,
        talk.RecallAsked,
    ),
    Reread: Row(
        By.BOOK,
        lambda request: talk.RereadAsked(phase=request.phase),
        lambda request, answers: talk.RereadDone(phase=request.phase, answers=len(answers)),
    ),
    Keep: Row(
        By.FILES,
        lambda request: talk.FileAsked(name=request.name, purpose=request.purpose),
        holds=talk.FileKept,
        back=back.path,
    ),
    Fingerprint: Row(
        By.FILES,
        lambda request: talk.FingerprintAsked(path=request.path),
        written.fingerprinted,
        talk.Fingerprinted,
        back.fingerprint,
    ),
}
ANSWERED = tuple(request for request, row in TABLE.items() if row.holds is not None)
"""The requests whose answers the book holds; what else a phase yields is answered by nothing."""
ANSWERS = tuple(dict.fromkeys(row.holds for row in TABLE.values() if row.holds is not None))
"""The entries that hold them."""


def before(request: Request) -> Entry:
    """The entry written before a request is fulfilled."""
    return TABLE[type(request)].before(request)


def after(request: Request, response: Response) -> Entry | None:
    """The entry written once a request is fulfilled; None where there is nothing to add."""
    make = TABLE[type(request)].after
    return None if make is None else make(request, response)


def response_of(request: Request, recorded: RecordedAnswer) -> Response:
    """The response that this request got.

    Raises:
        AnotherAnswer: the recorded answer is none to this request, or does not hold all of it.
    """
    row, entry = TABLE[type(request)], recorded.entry
    if row.holds is None or not isinstance(entry, row.holds):
        raise AnotherAnswer
    if isinstance(request, Recall):
        asked = written.recall_asked(request)
        if (asked.name, asked.earlier) != (getattr(entry, "name", ""), getattr(entry, "earlier", None)):
            raise AnotherAnswer  # of which sensor is settled outside the phase
        return recorded.finding
    if row.back is None:
        raise AnotherAnswer
    try:
        return row.back(request, entry)
    except ValueError as error:  # a word that this version does not know
        raise AnotherAnswer from error
