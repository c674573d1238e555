"""The request to read back what a done phase of this run was answered, and one such answer."""

from collections.abc import Iterable
from dataclasses import dataclass

from commission.asking.response import HoldReleased, TimedReading, TrialTaken, WatchTaken
from commission.dialect.commands import Command, Effect
from commission.dialect.framing import RawLine
from commission.dialect.replies import classify
from commission.evidence import measured, talk, wire
from commission.evidence.entry import Entry
from commission.session import End, Exchange

ANSWERS: tuple[type[Entry], ...] = (talk.Answered, measured.Trial, measured.Watch, talk.HoldReleased, wire.Result)
"""The entries that hold an answer which is read back."""


@dataclass(frozen=True)
class Reread:
    """Read back what the phase of this name was answered when this run last carried it out to its end."""

    phase: str


@dataclass(frozen=True)
class Given:
    """One answer as the book holds it.

    Attributes:
        to: what tells the request it answers from the next one; the kind of its entry comes first.
        response: the answer.
    """

    to: tuple[str, ...]
    response: bool | str | TrialTaken | WatchTaken | HoldReleased | Exchange


def given_by(entry: Entry) -> Given:
    """The answer that one of the `ANSWERS` holds.

    Raises:
        TypeError: it is none of them.
    """
    match entry:
        case talk.Answered():
            return Given((entry.kind(), entry.key), entry.answer)
        case measured.Trial():
            asked = (entry.number, entry.cycle, entry.instruction.value, entry.presence.value, entry.switch)
            return Given((entry.kind(), *map(str, asked)), _trial(entry))
        case measured.Watch():
            return Given((entry.kind(), entry.key, entry.switch), _watch(entry))
        case talk.HoldReleased():
            return Given((entry.kind(), entry.key), _hold(entry))
        case wire.Result():
            return Given((entry.kind(), entry.command), _exchange(entry))
    raise TypeError(f"An entry of kind {entry.kind()} holds no answer.")


def _trial(trial: measured.Trial) -> TrialTaken:
    before, dwell = _readings(trial.before), _readings(trial.dwell)
    return TrialTaken(before, dwell, trial.unread, trial.void_reason, trial.remark, trial.spoken, trial.void_before)


def _watch(watch: measured.Watch) -> WatchTaken:
    said = (watch.void_reason, watch.remark)
    return WatchTaken(_readings(watch.readings), watch.taken_s, watch.largest_gap_s, watch.unread, *said)


def _hold(held: talk.HoldReleased) -> HoldReleased:
    return HoldReleased(held.restarted, held.port, held.heard, held.same_identity, held.port_gone)


def _exchange(result: wire.Result) -> Exchange:
    """The answer as printable lines; its bytes, asides and moments are not read back."""
    answer = tuple(classify(RawLine.of(line)) for line in result.lines)
    command = Command(result.command, "read back from the book", Effect.READ_ONLY)
    return Exchange(command, answer, (), End(result.end), 0.0, result.took_s)


def _readings(readings: Iterable[measured.TimedReading]) -> tuple[TimedReading, ...]:
    return tuple(TimedReading(each.at_s, each.reading, each.wire_word) for each in readings)
