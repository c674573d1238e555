"""The bytes of a run as lines with times."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby

from commission.dialect.sanitise import clean_bytes
from commission.evidence.entry import Entry, Record, of_kind
from commission.evidence.measured import MovesBegan, TrialBegan, WatchBegan
from commission.evidence.runs import Opening
from commission.evidence.talk import Asked, HoldOpened, ReleaseAsked
from commission.evidence.wire import Bytes, Intent, Listening

LONGEST_LINE = 200
"""Characters of one line printed; the rest is counted."""


@dataclass(frozen=True)
class WireLine:
    """One line of one direction; `about` says what was being done, `size` counts its bytes, line end included."""

    about: tuple[int, str]
    sent: bool
    at: datetime
    text: str
    size: int


_About = tuple[int, str]


def _under_way(entry: Entry) -> str | None:  # noqa: PLR0911 - one case a request
    """What bytes belong to: the request that was under way when they were written down; None for any other entry."""
    match entry:
        case Opening(port=port):
            return f"Opening {port}"
        case Intent(purpose=purpose):
            return purpose.capitalize()
        case TrialBegan(number=number, instruction=instruction):
            return f"Trial {number}: {instruction.value}"
        case WatchBegan(title=title) | MovesBegan(title=title) | HoldOpened(title=title):
            return title
        case Asked(question=question):
            return f"While asked: {question}"
        case ReleaseAsked(title=title):
            return f"While asked for a release: {title}"
        case Listening():
            return "Listening"
    return None


def wire_lines(records: Sequence[Record[Entry]]) -> list[WireLine]:
    """Every byte of the run's traffic, joined to lines across the entries it was written in."""
    lines: list[WireLine] = []
    begun: dict[bool, tuple[_About, datetime, bytes]] = {}
    for about, sent, at, data in _stretches(records):
        first, started, before = begun.pop(sent, (about, at, b""))
        *whole, rest = (before + data).split(b"\n")
        for line in whole:
            lines.append(_line(first, started, line + b"\n", sent=sent))
            first, started = about, at
        if rest:
            begun[sent] = (first, started, rest)
    return lines + [_line(about, at, rest, sent=sent) for sent, (about, at, rest) in begun.items()]


def _stretches(records: Sequence[Record[Entry]]) -> Iterator[tuple[_About, bool, datetime, bytes]]:
    """What was being done, direction, wall time and bytes of each stretch.

    A stretch carries monotonic time whose start is not in the book. It is placed so that the stretch written soonest
    after it was heard has its entry's own wall time: nothing then lies after the entry that holds it.
    """
    abouts = dict(_abouts(records))
    traffic = [record for record in of_kind(records, Bytes) if record.entry.parts]
    for _, group in groupby(traffic, key=_process(traffic)):
        written = list(group)
        nearest = min(written, key=lambda record: record.elapsed_us - _last_us(record))
        for record in written:
            place = 0
            for part in record.entry.parts:
                at = nearest.moment + timedelta(microseconds=part.at_us - _last_us(nearest))
                yield abouts[record.sequence], part.sent, at, record.raw[place : place + part.size]
                place += part.size


def _last_us(record: Record[Bytes]) -> int:
    """When its last stretch was heard or sent."""
    return record.entry.parts[-1].at_us


def _abouts(records: Sequence[Record[Entry]]) -> Iterator[tuple[int, _About]]:
    about = (0, "Before the first request")
    for record in records:
        if (said := _under_way(record.entry)) is not None:
            about = (record.sequence, said)
        yield record.sequence, about


class _process:  # noqa: N801 - used as a key function
    """Numbers the processes that wrote the entries: their monotonic time starts anew with each."""

    def __init__(self, traffic: Sequence[Record[Bytes]]) -> None:
        self._of: dict[int, int] = {}
        number, before = 0, -1
        for record in traffic:
            number += record.elapsed_us < before
            before = record.elapsed_us
            self._of[record.sequence] = number

    def __call__(self, record: Record[Bytes]) -> int:
        return self._of[record.sequence]


def _line(about: _About, at: datetime, data: bytes, *, sent: bool) -> WireLine:
    body = data.rstrip(b"\r\n")
    text = clean_bytes(body[:LONGEST_LINE])
    if len(body) > LONGEST_LINE:
        text += f" … and {len(body) - LONGEST_LINE} more bytes of this line, kept in the book"
    if not data.endswith(b"\n"):
        text += " … (no line end)"
    return WireLine(about, sent, at, text, len(data))
