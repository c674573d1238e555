"""The way into the book: what is written of a request before it is fulfilled, and of its response afterwards."""

from collections.abc import Iterable, Mapping
from typing import Any

from commission.asking.form import Form, FormRow, Known
from commission.asking.message import Punch, Tell
from commission.asking.moving import Heard, Listen, MovesRun, RunMoves, Say, TimedSign
from commission.asking.request import (
    Ask,
    Choose,
    Confirm,
    Enter,
    Fingerprint,
    Hold,
    Recall,
    Release,
    TakeTrial,
    Watch,
)
from commission.asking.response import HoldReleased, TimedReading, TrialTaken, WatchTaken
from commission.asking.soak import Soak
from commission.dialect.pausing import Question
from commission.evidence import measured, soaked, talk, wire
from commission.session import Exchange

ON_A_FORM = "Answered on the sheet before."
DIGITS = 4
"""Decimals of a moment in seconds: a tenth of a millisecond."""


def told(request: Tell) -> talk.Told:
    """What is said."""
    return talk.Told(heading=request.heading, lines=request.lines, weight=request.weight.value)


def question(request: Confirm | Enter) -> talk.Asked:
    """The question as it is put."""
    return talk.Asked(key=request.key, question=request.question, lines=request.lines)


def asked_of_a_list(request: Choose) -> talk.Asked:
    """The question with what may be chosen."""
    options = tuple(talk.Offered(option.key, option.label) for option in request.options)
    return talk.Asked(key=request.key, question=request.question, options=options)


def answered(request: Confirm | Choose | Enter, response: bool | str) -> talk.Answered:  # noqa: FBT001 - an answer
    """The answer as it was given."""
    return talk.Answered(key=request.key, answer=response)


def form_put(request: Form) -> talk.Told:
    """The sheet with its usual answers, as it is put; its questions follow, each with its answer."""
    return talk.Told(heading=f"Asked on one sheet: {request.title}", lines=tuple(map(_row, request.rows({}))))


def _row(row: FormRow) -> str:
    if row.usual is None:
        return f"{row.label}: to be given"
    usual = {True: "yes", False: "no"}.get(row.usual, row.usual) if isinstance(row.usual, bool) else row.usual
    return f"{row.label}: {usual or row.empty}"


def known(request: Known) -> talk.Asked:
    """The question that a sheet has answered."""
    asked = request.question
    put = asked_of_a_list(asked) if isinstance(asked, Choose) else question(asked)
    return talk.Asked(key=put.key, question=put.question, lines=(ON_A_FORM,), options=put.options)


def release_asked(request: Release) -> talk.ReleaseAsked:
    """What would follow under the release."""
    effects = tuple(sorted(request.effects, key=lambda effect: effect.value))
    return talk.ReleaseAsked(key=request.key, title=request.title, lines=request.lines, effects=effects)


def recall_asked(request: Recall) -> talk.RecallAsked:
    """What is read back."""
    return talk.RecallAsked(name=request.kind.name(), earlier=request.earlier, not_of=request.not_of)


def recalled(request: Recall, response: object) -> talk.Recalled:
    """Whether it was found."""
    return talk.Recalled(name=request.kind.name(), found=response is not None)


def fingerprinted(request: Fingerprint, response: Mapping[str, Any] | None) -> talk.Fingerprinted:
    """Which file it is."""
    return talk.Fingerprinted(path=request.path, file=None if response is None else talk.FileMark(**response))


def trial(request: TakeTrial, response: TrialTaken) -> measured.Trial:
    """What came of a trial."""
    return measured.Trial.of(
        trial_began(request),
        readings(response.before),
        readings(response.dwell),
        unread=response.unread,
        void_reason=response.void_reason,
        remark=response.remark,
        spoken=response.spoken,
        void_before=response.void_before,
    )


def watch(request: Watch, response: WatchTaken) -> measured.Watch:
    """What came of a watch."""
    read, gap_s = readings(response.readings), response.largest_gap_s
    said = (response.void_reason, response.remark, response.slowed)
    return measured.Watch.of(watch_began(request), read, response.seconds, gap_s, response.unread, *said)


def listening(request: Listen) -> wire.Listening:
    """Until what it is listened."""
    return wire.Listening(seconds=request.seconds, until=tuple(sorted(sign.value for sign in request.until)))


def heard(_request: Listen, response: Heard) -> wire.Heard:
    """What was heard."""
    return wire.Heard(signs=signs(response.signs), open=open_question(response.question))


def punched(item: Punch) -> talk.Punched:
    """An open item."""
    return talk.Punched(grade=item.grade, text=item.text, cure=item.cure, settled_by=item.settled_by)


def intent(request: Ask | Say) -> wire.Intent:
    """What is about to be sent."""
    command = request.command
    return wire.Intent(command=command.text, purpose=command.purpose, effect=command.effect, release=request.release)


def result(_request: Ask, exchange: Exchange) -> wire.Result:
    """What came back."""
    return wire.Result(
        command=exchange.command.text,
        end=exchange.end.value,
        lines=exchange.lines,
        asides=tuple(reply.text for reply in exchange.asides),
        took_s=exchange.ended_s - exchange.sent_s,
    )


def trial_began(request: TakeTrial) -> measured.TrialBegan:
    """What a trial asks for."""
    return measured.TrialBegan(
        number=request.number,
        cycle=request.cycle,
        instruction=request.instruction,
        presence=request.presence,
        switch=request.switch,
        countdown_s=request.countdown_s,
        readings=request.readings,
        dwell_s=request.dwell_s,
    )


def watch_began(request: Watch) -> measured.WatchBegan:
    """What a watch is for."""
    return measured.WatchBegan(
        key=request.key,
        title=request.title,
        switch=request.switch,
        presence=request.presence,
        seconds=request.seconds,
        planned_readings=request.readings,
    )


def soak_began(request: Soak) -> soaked.SoakBegan:
    """What a soak is for."""
    return soaked.SoakBegan(
        switch=request.switch,
        seconds=request.seconds,
        beside_print=request.beside_print,
        follows=request.follows,
    )


def moves_began(request: RunMoves) -> measured.MovesBegan:
    """Which moves are about to begin."""
    pattern = request.pattern
    return measured.MovesBegan(
        key=request.key,
        title=request.title,
        switch=request.switch,
        release=request.release,
        feed_mm=pattern.feed_mm,
        travel_mm=pattern.travel_mm,
        block_s=pattern.block_s,
        queue_blocks=pattern.queue_blocks,
        sends=request.sends,
    )


def moves(request: RunMoves, run: MovesRun) -> measured.Moves:
    """What came of the moves."""
    return measured.Moves(
        key=request.key,
        end=run.end.value,
        moves=tuple(measured.AckedMove(round(move.acked_at_s, DIGITS), move.feed_mm) for move in run.moves),
        readings=readings(run.readings),
        taken_s=run.seconds,
        signs=signs(run.signs),
        silent=run.silent,
        open=open_question(run.question),
        slowed=run.slowed,
    )


def hold_released(request: Hold, released: HoldReleased) -> talk.HoldReleased:
    """What was seen at the hold point."""
    return talk.HoldReleased(
        key=request.key,
        restarted=released.restarted,
        port=released.port,
        heard=released.heard,
        same_identity=released.same_identity,
        port_gone=released.port_gone,
        count_lost=released.count_lost,
    )


def readings(taken: Iterable[TimedReading]) -> measured.Readings:
    """Readings with their moments."""
    return tuple(measured.TimedReading(round(each.at_s, DIGITS), each.reading, each.wire_word) for each in taken)


def open_question(question: Question | None) -> wire.Open:
    """The question that is open, if one is."""
    return () if question is None else (wire.OpenQuestion(question.text, question.buttons),)


def signs(seen: Iterable[TimedSign]) -> tuple[wire.HeardSign, ...]:
    """Signs with their moments."""
    return tuple(wire.HeardSign(round(each.at_s, DIGITS), each.sign.value, each.text) for each in seen)
