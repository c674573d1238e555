"""What is written of each request and each response, as the entries a report is drawn from."""

from collections.abc import Iterable, Mapping

from commission.asking.message import Establish, Punch, Tell
from commission.asking.moving import Heard, Listen, MovesRun, RunMoves, Say, TimedSign
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
from commission.asking.reread import Reread
from commission.asking.response import HoldReleased, Interruption, TimedReading, TrialTaken, WatchTaken
from commission.asking.soak import Soak
from commission.conductor.keeping import Kept
from commission.dialect.commands import Command
from commission.evidence import measured, runs, soaked, talk, wire
from commission.evidence.entry import Entry
from commission.evidence.found import Established
from commission.session import Exchange

DIGITS = 4
"""Decimals of a moment in seconds: a tenth of a millisecond."""


def before(request: Request) -> Entry:  # noqa: C901, PLR0911, PLR0912 - one case a request
    """The entry written before a request is fulfilled."""
    match request:
        case Tell():
            return talk.Told(heading=request.heading, lines=request.lines, weight=request.weight.value)
        case Confirm() | Enter():
            return talk.Asked(key=request.key, question=request.question, lines=request.lines)
        case Choose():
            options = tuple(talk.Offered(option.key, option.label) for option in request.options)
            return talk.Asked(key=request.key, question=request.question, options=options)
        case Recall():
            return talk.RecallAsked(name=request.kind.name(), earlier=request.earlier)
        case Reread():
            return talk.RereadAsked(phase=request.phase)
        case Fingerprint():
            return talk.FingerprintAsked(path=request.path)
        case Keep():
            return talk.FileAsked(name=request.name, purpose=request.purpose)
        case Release():
            effects = tuple(sorted(request.effects, key=lambda effect: effect.value))
            return talk.ReleaseAsked(key=request.key, title=request.title, lines=request.lines, effects=effects)
        case Ask() | Say():
            return _intent(request.command, request.release)
        case TakeTrial():
            return _trial_began(request)
        case Watch():
            return _watch_began(request)
        case Soak():
            return _soak_began(request)
        case Hold():
            return talk.HoldOpened(key=request.key, title=request.title, steps=request.steps, power=request.power)
        case RunMoves():
            return _moves_began(request)
        case Listen():
            return wire.Listening(seconds=request.seconds, until=tuple(sorted(sign.value for sign in request.until)))
        case Establish():
            return Established.of(request.finding)
        case Punch():
            return _punched(request)
        case PhaseBegins():
            return runs.PhaseStarted(name=request.name, title=request.title)
        case PhaseEnds():
            return runs.PhaseEnded(name=request.name, kept=dict(request.facts))


def after(request: Request, response: Response) -> Entry | None:  # noqa: C901, PLR0911 - one case a request
    """The entry written once a request is fulfilled; None where there is nothing to add."""
    match request, response:
        case ((Confirm() | Choose() | Enter()), (bool() | str())):
            return talk.Answered(key=request.key, answer=response)
        case Release(), bool():
            return talk.ReleaseAnswered(key=request.key, granted=response)
        case Recall(), _:
            return talk.Recalled(name=request.kind.name(), found=response is not None)
        case Reread(), tuple():
            return talk.RereadDone(phase=request.phase, answers=len(response))
        case Fingerprint(), (Mapping() | None):
            return talk.Fingerprinted(path=request.path, file=None if response is None else talk.FileMark(**response))
        case Ask(), Exchange():
            return _result(response)
        case TakeTrial(), TrialTaken():
            before_dwell, dwell = _readings(response.before), _readings(response.dwell)
            void_reason, remark = response.void_reason, response.remark
            return measured.Trial.of(_trial_began(request), before_dwell, dwell, response.unread, void_reason, remark)
        case Watch(), WatchTaken():
            readings, gap_s = _readings(response.readings), response.largest_gap_s
            void_reason, remark = response.void_reason, response.remark
            return measured.Watch.of(
                _watch_began(request), readings, response.seconds, gap_s, response.unread, void_reason, remark
            )
        case RunMoves(), MovesRun():
            return _moves(request.key, response)
        case Listen(), Heard():
            return wire.Heard(signs=_signs(response.signs))
        case Hold(), HoldReleased():
            return _released(request.key, response)
    return None


def instead(interruption: Interruption, request: Request) -> runs.Interrupted:
    """The entry of what came instead of a response."""
    return runs.Interrupted(
        what=interruption.kind.value,
        detail=interruption.detail,
        request=type(request).__name__,
        key=getattr(request, "key", ""),
    )


def file_kept(request: Keep, kept: Kept) -> talk.FileKept:
    """The entry of a file that was written."""
    return talk.FileKept(path=str(kept.path), purpose=request.purpose, sha256=kept.sha256, bytes=kept.bytes_written)


def _punched(item: Punch) -> talk.Punched:
    return talk.Punched(grade=item.grade, text=item.text, cure=item.cure, settled_by=item.settled_by)


def _intent(command: Command, release: str) -> wire.Intent:
    return wire.Intent(command=command.text, purpose=command.purpose, effect=command.effect, release=release)


def _result(exchange: Exchange) -> wire.Result:
    return wire.Result(
        command=exchange.command.text,
        end=exchange.end.value,
        lines=exchange.lines,
        asides=tuple(reply.text for reply in exchange.asides),
        took_s=exchange.ended_s - exchange.sent_s,
    )


def _trial_began(request: TakeTrial) -> measured.TrialBegan:
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


def _watch_began(request: Watch) -> measured.WatchBegan:
    return measured.WatchBegan(
        key=request.key,
        title=request.title,
        switch=request.switch,
        presence=request.presence,
        seconds=request.seconds,
        planned_readings=request.readings,
    )


def _soak_began(request: Soak) -> soaked.SoakBegan:
    return soaked.SoakBegan(
        switch=request.switch,
        seconds=request.seconds,
        beside_print=request.beside_print,
        follows=request.follows,
    )


def _moves_began(request: RunMoves) -> measured.MovesBegan:
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


def _moves(key: str, run: MovesRun) -> measured.Moves:
    return measured.Moves(
        key=key,
        end=run.end.value,
        moves=tuple(measured.AckedMove(round(move.acked_at_s, DIGITS), move.feed_mm) for move in run.moves),
        readings=_readings(run.readings),
        taken_s=run.seconds,
        signs=_signs(run.signs),
        silent=run.silent,
    )


def _released(key: str, released: HoldReleased) -> talk.HoldReleased:
    return talk.HoldReleased(
        key=key,
        restarted=released.restarted,
        port=released.port,
        heard=released.heard,
        same_identity=released.same_identity,
        port_gone=released.port_gone,
    )


def _readings(readings: Iterable[TimedReading]) -> measured.Readings:
    return tuple(measured.TimedReading(round(each.at_s, DIGITS), each.reading, each.wire_word) for each in readings)


def _signs(signs: Iterable[TimedSign]) -> tuple[wire.HeardSign, ...]:
    return tuple(wire.HeardSign(round(each.at_s, DIGITS), each.sign.value, each.text) for each in signs)
