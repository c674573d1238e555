"""The bytes of a run as lines with times, and how a long dwell is folded without dropping anything unsaid."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby

from commission.dialect.sanitise import clean_bytes
from commission.report.blocks import ConsoleLine
from commission.report.record import Event

MOST_LINES = 1200
"""Lines printed; beyond it the middle is folded."""
LONGEST_LINE = 200
"""Characters of one line printed; the rest is counted."""


@dataclass(frozen=True)
class WireLine:
    """One line of one direction; `size` counts its bytes, line end included."""

    sent: bool
    at: datetime
    text: str
    size: int


_Block = list[WireLine]


def wire_lines(events: Sequence[Event]) -> list[WireLine]:
    """Every byte of the run's traffic, joined to lines across the entries it was written in."""
    lines: list[WireLine] = []
    begun: dict[bool, tuple[datetime, bytes]] = {}
    for sent, at, data in _stretches(events):
        started, before = begun.pop(sent, (at, b""))
        *whole, rest = (before + data).split(b"\n")
        for index, line in enumerate(whole):
            lines.append(_line(started if index == 0 else at, line + b"\n", sent=sent))
        if rest:
            begun[sent] = (at if whole else started, rest)
    return lines + [_line(at, rest, sent=sent) for sent, (at, rest) in begun.items()]


def _stretches(events: Sequence[Event]) -> Iterator[tuple[bool, datetime, bytes]]:
    """Direction, wall time and bytes of each stretch.

    A stretch carries monotonic time whose start is not in the book. It is placed so that the stretch written soonest
    after it was heard has its entry's own wall time: nothing then lies after the entry that holds it.
    """
    traffic = [event for event in events if event.kind == "traffic" and event.facts.get("parts")]
    for _, group in groupby(traffic, key=_process(traffic)):
        entries = list(group)
        nearest = min(entries, key=lambda event: event.elapsed_us - event.facts["parts"][-1][1])
        offset_us = nearest.elapsed_us - nearest.facts["parts"][-1][1]
        for event in entries:
            place = 0
            for sent, at_us, length in event.facts["parts"]:
                shift = timedelta(microseconds=at_us + offset_us - nearest.elapsed_us)
                yield bool(sent), nearest.at + shift, event.raw[place : place + length]
                place += length


class _process:  # noqa: N801 - used as a key function
    """Numbers the processes that wrote the entries: their monotonic time starts anew with each."""

    def __init__(self, traffic: Sequence[Event]) -> None:
        self._of: dict[int, int] = {}
        number, before = 0, -1
        for event in traffic:
            number += event.elapsed_us < before
            before = event.elapsed_us
            self._of[event.sequence] = number

    def __call__(self, event: Event) -> int:
        return self._of[event.sequence]


def _line(at: datetime, data: bytes, *, sent: bool) -> WireLine:
    body = data.rstrip(b"\r\n")
    text = clean_bytes(body[:LONGEST_LINE])
    if len(body) > LONGEST_LINE:
        text += f" … and {len(body) - LONGEST_LINE} more bytes of this line, kept in the book"
    if not data.endswith(b"\n"):
        text += " … (no line end)"
    return WireLine(sent, at, text, len(data))


def console_lines(lines: Sequence[WireLine]) -> tuple[ConsoleLine, ...]:
    """The lines as they are printed: equal exchanges in a row folded, and the middle of a very long run."""
    shown: list[ConsoleLine] = []
    sizes: list[int] = []
    for _, alike in groupby(_exchanges(lines), key=lambda block: [(line.sent, line.text) for line in block]):
        first, *again = alike
        shown += [_shown(line) for line in first]
        sizes += [line.size for line in first]
        if again:
            shown.append(_folded(again))
            sizes.append(sum(line.size for block in again for line in block))
    return _bounded(shown, sizes)


def _exchanges(lines: Sequence[WireLine]) -> Iterator[_Block]:
    """A command with all lines up to the next one."""
    block: _Block = []
    for line in lines:
        if line.sent and block:
            yield block
            block = []
        block.append(line)
    if block:
        yield block


def _shown(line: WireLine) -> ConsoleLine:
    return ConsoleLine(_clock(line.at), "sent" if line.sent else "received", line.text)


def _folded(blocks: Sequence[_Block]) -> ConsoleLine:
    times = "once more" if len(blocks) == 1 else f"{len(blocks)} times more"
    size = sum(line.size for block in blocks for line in block)
    text = f"the same {times}, until {_clock(blocks[-1][0].at)}: {size} bytes folded, kept in the book"
    return ConsoleLine(_clock(blocks[0][0].at), "note", text)


def _bounded(shown: list[ConsoleLine], sizes: list[int]) -> tuple[ConsoleLine, ...]:
    if len(shown) <= MOST_LINES:
        return tuple(shown)
    head, tail = MOST_LINES * 3 // 4, MOST_LINES // 4
    folded = shown[head:-tail]
    note = f"{len(folded)} lines of this appendix folded here, {sum(sizes[head:-tail])} bytes, kept in the book"
    return (*shown[:head], ConsoleLine(folded[0].at, "note", note), *shown[-tail:])


def _clock(at: datetime) -> str:
    return at.strftime("%H:%M:%S.") + f"{at.microsecond // 1000:03d}"
