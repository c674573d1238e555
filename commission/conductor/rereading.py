"""Reads the answers of a done phase back from its entries: the way back from what `evidence` writes."""

from collections.abc import Sequence
from typing import Any

from commission.dialect.commands import Command, Effect
from commission.dialect.framing import RawLine
from commission.dialect.replies import classify
from commission.procedure.reread import Given
from commission.procedure.response import HoldReleased, TimedReading, TrialTaken, WatchTaken
from commission.records.book import Book
from commission.records.chain import Entry
from commission.records.history import entries_of_kinds
from commission.session import End, Exchange
from commission.vocabulary import Reading

ANSWERS = ("answered", "trial", "watch", "hold_released", "result")


def given_in(book: Book, run: str, phase: str) -> tuple[Given, ...]:
    """The answers of the run's newest carrying out of the phase, in order; none where it came to no end."""
    entries = [e for e in entries_of_kinds(book, ("phase_started", "phase_ended", *ANSWERS)) if e.run == run]
    return tuple(_given(entry) for entry in _inside(entries, phase) if entry.kind in ANSWERS)


def _inside(entries: Sequence[Entry], phase: str) -> Sequence[Entry]:
    def last(kind: str) -> int:
        places = (at for at, entry in enumerate(entries) if entry.kind == kind and entry.facts["name"] == phase)
        return max(places, default=-1)

    began, ended = last("phase_started"), last("phase_ended")
    return entries[began:ended] if 0 <= began < ended else ()


def _given(entry: Entry) -> Given:
    facts = entry.facts
    match entry.kind:
        case "answered":
            return Given((entry.kind, facts["key"]), facts["answer"])
        case "trial":
            asked = (facts["number"], facts["cycle"], facts["instruction"], facts["presence"], facts["switch"])
            return Given((entry.kind, *map(str, asked)), _trial(facts))
        case "watch":
            return Given((entry.kind, facts["key"], facts["switch"]), _watch(facts))
        case "hold_released":
            return Given((entry.kind, facts["key"]), _hold(facts))
        case _:
            return Given((entry.kind, facts["command"]), _exchange(facts))


def _trial(facts: dict[str, Any]) -> TrialTaken:
    before, dwell = _readings(facts["before"]), _readings(facts["dwell"])
    return TrialTaken(before, dwell, facts["unread"], facts["void_reason"], facts["remark"])


def _watch(facts: dict[str, Any]) -> WatchTaken:
    said = (facts.get("void_reason", ""), facts.get("remark", ""))
    return WatchTaken(_readings(facts["readings"]), facts["taken_s"], facts["largest_gap_s"], facts["unread"], *said)


def _hold(facts: dict[str, Any]) -> HoldReleased:
    return HoldReleased(facts["restarted"], facts["port"], tuple(facts["heard"]), facts["same_identity"])


def _exchange(facts: dict[str, Any]) -> Exchange:
    """The answer as printable lines; its bytes, asides and moments are not read back."""
    answer = tuple(classify(RawLine.of(line)) for line in facts["lines"])
    command = Command(facts["command"], "read back from the book", Effect.READ_ONLY)
    return Exchange(command, answer, (), End(facts["end"]), 0.0, float(facts["took_s"]))


def _readings(rows: Sequence[Sequence[Any]]) -> tuple[TimedReading, ...]:
    return tuple(TimedReading(float(row[0]), Reading(row[1]), str(row[2])) for row in rows)
