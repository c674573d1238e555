"""What is written of each request and each response: the kinds of entries a report is drawn from.

opening, opened         the port: before, and after with speed and what was heard
phase_started, phase_ended, phase_abandoned
told                    a message to the operator
asked, answered         a question and its answer
intent, result          what was to be sent, and what came of it
trial_began, trial      a prompt, and its readings
watch_began, watch      the same for a watch
moves_began, moves      test moves: the log of moves, readings and signs
heard                   what a waiting printer said by itself
made_safe               what was done on the way out
hold_opened, hold_released
finding, punch          what was established, and what is left to do
interruption            what came instead of a response
reread, reread_done     what a done phase was answered, read back for a run that is taken up again
traffic                 every byte both ways
"""

from typing import Any

from commission.procedure.message import Establish, Punch, Tell
from commission.procedure.moving import Heard, Listen, MovesRun, RunMoves, Say
from commission.procedure.request import (
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
from commission.procedure.reread import Reread
from commission.procedure.response import HoldReleased, Interruption, TimedReading, TrialTaken, WatchTaken
from commission.session import Exchange

Written = tuple[str, dict[str, Any]]


def request_entry(request: Request) -> Written:  # noqa: C901, PLR0911, PLR0912 - one case a request
    """The entry written before a request is fulfilled."""
    match request:
        case Tell():
            return "told", {"heading": request.heading, "lines": list(request.lines), "weight": request.weight.value}
        case Confirm() | Enter():
            return "asked", {"key": request.key, "question": request.question, "lines": list(request.lines)}
        case Choose():
            options = [[option.key, option.label] for option in request.options]
            return "asked", {"key": request.key, "question": request.question, "options": options}
        case Recall():
            return "recall", {"name": request.name, "earlier": request.earlier}
        case Reread():
            return "reread", {"phase": request.phase}
        case Fingerprint():
            return "fingerprint_asked", {"path": request.path}
        case Keep():
            return "file_asked", {"name": request.name, "purpose": request.purpose}
        case Release():
            effects = sorted(effect.value for effect in request.effects)
            said = {"key": request.key, "title": request.title, "lines": list(request.lines)}
            return "release_asked", said | {"effects": effects}
        case Ask():
            command = request.command
            sent = {"command": command.text, "purpose": command.purpose, "effect": command.effect.value}
            return "intent", sent | {"release": request.release}
        case TakeTrial():
            return "trial_began", _trial_facts(request)
        case Watch():
            return "watch_began", _watch_facts(request)
        case Hold():
            held = {"key": request.key, "title": request.title, "steps": list(request.steps)}
            return "hold_opened", held | {"power": request.power}
        case RunMoves() | Say() | Listen():
            return moving_entry(request)
        case Establish():
            found = {"name": request.name, "sentences": list(request.sentences)}
            return "finding", found | {"facts": dict(request.facts)}
        case Punch():
            settled = {"settled_by": request.settled_by} if request.settled_by else {}
            return "punch", {"grade": request.grade.value, "text": request.text, "cure": request.cure} | settled
        case PhaseBegins():
            return "phase_started", {"name": request.name, "title": request.title}
        case PhaseEnds():
            return "phase_ended", {"name": request.name, "facts": dict(request.facts)}


def response_entry(request: Request, response: Response) -> Written | None:  # noqa: C901, PLR0911 - one case a request
    """The entry written once a request is fulfilled; None where there is nothing to add."""
    match request, response:
        case ((Confirm() | Choose() | Enter()), (bool() | str())):
            return "answered", {"key": request.key, "answer": response}
        case Release(), bool():
            return "release_answered", {"key": request.key, "granted": response}
        case Recall(), _:
            return "recalled", {"name": request.name, "found": response is not None}
        case Reread(), tuple():
            return "reread_done", {"phase": request.phase, "answers": len(response)}
        case Fingerprint(), _:
            return "fingerprint", {"path": request.path, "file": response}
        case Ask(), Exchange():
            return "result", _exchange_facts(response)
        case TakeTrial(), TrialTaken():
            return "trial", _trial_facts(request) | {
                "before": _readings(response.before),
                "dwell": _readings(response.dwell),
                "unread": response.unread,
                "void_reason": response.void_reason,
                "remark": response.remark,
            }
        case Watch(), WatchTaken():
            return "watch", _watch_facts(request) | {
                "readings": _readings(response.readings),
                "taken_s": response.seconds,
                "largest_gap_s": response.largest_gap_s,
                "unread": response.unread,
                "void_reason": response.void_reason,
                "remark": response.remark,
            }
        case RunMoves(), MovesRun():
            return "moves", {"key": request.key, **_moves_facts(response)}
        case Listen(), Heard():
            return "heard", {"signs": [[round(s.at_s, 4), s.sign.value, s.text] for s in response.signs]}
        case Hold(), HoldReleased():
            facts = {"key": request.key, "restarted": response.restarted, "port": response.port}
            return "hold_released", facts | {"heard": list(response.heard), "same_identity": response.same_identity}
    return None


def moving_entry(request: RunMoves | Say | Listen) -> Written:
    """The entry written before moves, an urgent word, or listening."""
    match request:
        case RunMoves():
            pattern = request.pattern
            moves = {"feed_mm": pattern.feed_mm, "travel_mm": pattern.travel_mm, "block_s": pattern.block_s}
            asked = {"key": request.key, "title": request.title, "switch": request.switch, "release": request.release}
            return "moves_began", asked | moves | {"queue_blocks": pattern.queue_blocks, "sends": request.sends}
        case Say():
            command = request.command
            sent = {"command": command.text, "purpose": command.purpose, "effect": command.effect.value}
            return "intent", sent | {"release": request.release}
        case Listen():
            return "listening", {"seconds": request.seconds, "until": sorted(sign.value for sign in request.until)}


def _moves_facts(run: MovesRun) -> dict[str, Any]:
    return {
        "end": run.end.value,
        "moves": [[round(move.acked_at_s, 4), move.feed_mm] for move in run.moves],
        "readings": _readings(run.readings),
        "signs": [[round(sign.at_s, 4), sign.sign.value, sign.text] for sign in run.signs],
        "taken_s": run.seconds,
        "silent": run.silent,
    }


def interruption_facts(interruption: Interruption, request: Request) -> dict[str, Any]:
    """What came instead of a response, and to which request."""
    return {
        "what": interruption.kind.value,
        "detail": interruption.detail,
        "request": type(request).__name__,
        "key": getattr(request, "key", ""),
    }


def _exchange_facts(exchange: Exchange) -> dict[str, Any]:
    return {
        "command": exchange.command.text,
        "end": exchange.end.value,
        "lines": list(exchange.lines),
        "asides": [reply.text for reply in exchange.asides],
        "took_s": exchange.ended_s - exchange.sent_s,
    }


def _trial_facts(request: TakeTrial) -> dict[str, Any]:
    return {
        "number": request.number,
        "cycle": request.cycle,
        "instruction": request.instruction.value,
        "presence": request.presence.value,
        "switch": request.switch,
        "countdown_s": request.countdown_s,
        "readings": request.readings,
        "dwell_s": request.dwell_s,
    }


def _watch_facts(request: Watch) -> dict[str, Any]:
    return {
        "key": request.key,
        "title": request.title,
        "switch": request.switch,
        "presence": None if request.presence is None else request.presence.value,
        "seconds": request.seconds,
        "planned_readings": request.readings,
    }


def _readings(readings: tuple[TimedReading, ...]) -> list[list[Any]]:
    return [[round(reading.at_s, 4), reading.reading.value, reading.wire_word] for reading in readings]
