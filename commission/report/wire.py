"""The bytes of a run as lines with times."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from typing import Any

from commission.dialect.sanitise import clean_bytes
from commission.report.record import Event

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
