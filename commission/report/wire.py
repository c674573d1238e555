"""The bytes of a run as lines with times, and how a long dwell is folded without dropping anything unsaid."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from typing import Any

from commission.dialect.sanitise import clean_bytes
from commission.report.document import ConsoleLine
from commission.report.record import Event

MOST_LINES = 1200
"""Lines printed; beyond it the middle is folded."""
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


_Block = list[WireLine]
_FRAME = re.compile(r"^N\d+ ?(.*)\*\d+$")


_About = tuple[int, str]
_ABOUT: Mapping[str, Callable[[Mapping[str, Any]], str]] = {
    "opening": lambda facts: f"Opening {facts['port']}",
    "intent": lambda facts: str(facts["purpose"]).capitalize(),
    "trial_began": lambda facts: f"Trial {facts['number']}: {facts['instruction']}",
    "watch_began": lambda facts: str(facts["title"]),
    "moves_began": lambda facts: str(facts["title"]),
    "hold_opened": lambda facts: str(facts["title"]),
    "asked": lambda facts: f"While asked: {facts['question']}",
    "release_asked": lambda facts: f"While asked for a release: {facts['title']}",
    "listening": lambda _: "Listening",
}
"""What bytes belong to: the request that was under way when they were written down."""


def wire_lines(events: Sequence[Event]) -> list[WireLine]:
    """Every byte of the run's traffic, joined to lines across the entries it was written in."""
    lines: list[WireLine] = []
    begun: dict[bool, tuple[_About, datetime, bytes]] = {}
    for about, sent, at, data in _stretches(events):
        first, started, before = begun.pop(sent, (about, at, b""))
        *whole, rest = (before + data).split(b"\n")
        for line in whole:
            lines.append(_line(first, started, line + b"\n", sent=sent))
            first, started = about, at
        if rest:
            begun[sent] = (first, started, rest)
    return lines + [_line(about, at, rest, sent=sent) for sent, (about, at, rest) in begun.items()]


def _stretches(events: Sequence[Event]) -> Iterator[tuple[_About, bool, datetime, bytes]]:
    """What was being done, direction, wall time and bytes of each stretch.

    A stretch carries monotonic time whose start is not in the book. It is placed so that the stretch written soonest
    after it was heard has its entry's own wall time: nothing then lies after the entry that holds it.
    """
    abouts = dict(_abouts(events))
    traffic = [event for event in events if event.kind == "traffic" and event.facts["parts"]]
    for _, group in groupby(traffic, key=_process(traffic)):
        entries = list(group)
        nearest = min(entries, key=lambda event: event.elapsed_us - event.facts["parts"][-1][1])
        heard_us = nearest.facts["parts"][-1][1]
        for event in entries:
            place = 0
            for sent, at_us, length in event.facts["parts"]:
                at = nearest.at + timedelta(microseconds=at_us - heard_us)
                yield abouts[event.sequence], sent, at, event.raw[place : place + length]
                place += length


def _abouts(events: Sequence[Event]) -> Iterator[tuple[int, _About]]:
    about = (0, "Before the first request")
    for event in events:
        if event.kind in _ABOUT:
            about = (event.sequence, _ABOUT[event.kind](event.facts))
        yield event.sequence, about


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


def _line(about: _About, at: datetime, data: bytes, *, sent: bool) -> WireLine:
    body = data.rstrip(b"\r\n")
    text = clean_bytes(body[:LONGEST_LINE])
    if len(body) > LONGEST_LINE:
        text += f" … and {len(body) - LONGEST_LINE} more bytes of this line, kept in the book"
    if not data.endswith(b"\n"):
        text += " … (no line end)"
    return WireLine(about, sent, at, text, len(data))


def console_lines(lines: Sequence[WireLine]) -> tuple[ConsoleLine, ...]:
    """The lines as they are printed: equal exchanges in a row folded, and the middle of a very long run."""
    shown: list[ConsoleLine] = []
    sizes: list[int] = []
    for (_, about), together in groupby(lines, key=lambda line: line.about):
        shown.append(ConsoleLine("", "step", about))
        sizes.append(0)
        for line, size in _folds(list(together)):
            shown.append(line)
            sizes.append(size)
    return _bounded(shown, sizes)


def _folds(lines: Sequence[WireLine]) -> Iterator[tuple[ConsoleLine, int]]:
    """The lines that are shown, and a note for those folded; each with its bytes."""
    for _, alike in groupby(_exchanges(lines), key=_sameness):
        first, *again = alike
        yield from ((_shown(line), line.size) for line in first)
        if again:
            yield _folded(again), sum(line.size for block in again for line in block)


def _sameness(block: _Block) -> list[tuple[bool, str]]:
    """Exchanges are alike when their lines are, whatever number and checksum a frame carries."""
    return [(line.sent, _FRAME.sub(r"\1", line.text) if line.sent else line.text) for line in block]


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
