"""The bytes of a run as lines with times."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import accumulate, groupby
from typing import NamedTuple

from commission.dialect.sanitise import clean_bytes
from commission.evidence.counted import exchanges_in
from commission.evidence.entry import Entry, Record
from commission.evidence.measured import MovesBegan, TrialBegan, WatchBegan
from commission.evidence.runs import Opening
from commission.evidence.talk import Asked, HoldOpened, ReleaseAsked
from commission.evidence.wire import Bytes, CountedBytes, Intent, Listening

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
    for about, sent, at, data, dense in _stretches(records):
        if dense:
            lines.append(WireLine(about, sent, at, _in_short(data), len(data)))
            continue
        first, started, before = begun.pop(sent, (about, at, b""))
        *whole, rest = (before + data).split(b"\n")
        for line in whole:
            lines.append(_line(first, started, line + b"\n", sent=sent))
            first, started = about, at
        if rest:
            begun[sent] = (first, started, rest)
    return lines + [_line(about, at, rest, sent=sent) for sent, (about, at, rest) in begun.items()]


class _Piece(NamedTuple):
    """Bytes of one direction with their monotonic time; `dense` where their order against the other one is not kept."""

    sent: bool
    at_us: int
    data: bytes
    dense: bool = False


def _stretches(records: Sequence[Record[Entry]]) -> Iterator[tuple[_About, bool, datetime, bytes, bool]]:
    """What was being done, direction, wall time and bytes of each stretch, and whether it is dense.

    A stretch carries monotonic time whose start is not in the book. It is placed so that the stretch written soonest
    after it was heard has its entry's own wall time: nothing then lies after the entry that holds it.
    """
    abouts = dict(_abouts(records))
    traffic = [(record, pieces) for record in records if (pieces := _pieces(record))]
    for _, group in groupby(traffic, key=_process([record for record, _ in traffic])):
        written = list(group)
        nearest, last = min(written, key=lambda each: each[0].elapsed_us - each[1][-1].at_us)
        for record, pieces in written:
            for piece in pieces:
                at = nearest.moment + timedelta(microseconds=piece.at_us - last[-1].at_us)
                yield abouts[record.sequence], piece.sent, at, piece.data, piece.dense


def _pieces(record: Record[Entry]) -> list[_Piece]:
    """What the entry has of the wire; nothing where it has none, or a soak counts it, which says its bytes itself."""
    match record.entry:
        case Bytes(parts=parts):
            ends = accumulate((part.size for part in parts), initial=0)
            return [
                _Piece(part.sent, part.at_us, record.raw[end : end + part.size])
                for part, end in zip(parts, ends, strict=False)
            ]
        case CountedBytes() as counted if counted.after_us:
            return list(_counted(counted, record.raw))
    return []


def _counted(entry: CountedBytes, raw: bytes) -> Iterator[_Piece]:
    """Exchanges that are alike lie evenly between the first of them and the next other one: more is not kept."""
    exchanges = exchanges_in(entry, raw)
    ends = (*entry.after_us[1:], entry.ended_us - entry.began_us)
    for (_, times), began, end in zip(entry.order, entry.after_us, ends, strict=False):
        for count in range(times):
            at_us = entry.began_us + began + (end - began) * count // times
            sent, received = next(exchanges)
            dense = sent.count(b"\n") > 1
            yield from (_Piece(each, at_us, data, dense) for each, data in ((True, sent), (False, received)) if data)


def _in_short(data: bytes) -> str:
    """The first whole line of many, and how many there are."""
    first, *more = data.split(b"\n")
    said = clean_bytes(first.rstrip(b"\r")[:LONGEST_LINE])
    return f"{said} … and {len(more)} lines more, of a dense watch"


def _abouts(records: Sequence[Record[Entry]]) -> Iterator[tuple[int, _About]]:
    about = (0, "Before the first request")
    for record in records:
        if (said := _under_way(record.entry)) is not None:
            about = (record.sequence, said)
        yield record.sequence, about


class _process:  # noqa: N801 - used as a key function
    """Numbers the processes that wrote the entries: their monotonic time starts anew with each."""

    def __init__(self, traffic: Sequence[Record[Entry]]) -> None:
        self._of: dict[int, int] = {}
        number, before = 0, -1
        for record in traffic:
            number += record.elapsed_us < before
            before = record.elapsed_us
            self._of[record.sequence] = number

    def __call__(self, each: tuple[Record[Entry], list[_Piece]]) -> int:
        return self._of[each[0].sequence]


def _line(about: _About, at: datetime, data: bytes, *, sent: bool) -> WireLine:
    body = data.rstrip(b"\r\n")
    text = clean_bytes(body[:LONGEST_LINE])
    if len(body) > LONGEST_LINE:
        text += f" … and {len(body) - LONGEST_LINE} more bytes of this line, kept in the book"
    if not data.endswith(b"\n"):
        text += " … (no line end)"
    return WireLine(about, sent, at, text, len(data))
