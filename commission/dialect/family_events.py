"""What families B to E say unasked, or beside an answer: states, runouts and jams, steps of a pause, comments.

The fixed words decide; names and numbers between them may be anything. A comment of a host computer that has no
meaning of its own here is kept as a message: it is meant for a person.
"""

import re
from collections.abc import Callable

from commission.dialect.events import Detail, Event
from commission.dialect.states import state_in

_Read = Callable[["re.Match[str]"], dict[str, Detail]]


def _nothing(_: "re.Match[str]") -> dict[str, Detail]:
    return {}


def _step(step: str) -> _Read:
    return lambda _: {"step": step}


def _cause(cause: str) -> _Read:
    return lambda _: {"cause": cause}


def _drive(found: "re.Match[str]") -> dict[str, Detail]:
    return {"cause": "no filament", "drive": int(found["drive"])}


def _detector(found: "re.Match[str]") -> dict[str, Detail]:
    return {"cause": found["cause"].strip().rstrip(".")}


def _watching(found: "re.Match[str]") -> dict[str, Detail]:
    return {"enabled": found["disabled"] == "0"}


def _runout_set(found: "re.Match[str]") -> dict[str, Detail]:
    word = found["word"].lower()
    return {"set": word, "enabled": {"enabled": True, "disabled": False}.get(word)}


def _emulated(found: "re.Match[str]") -> dict[str, Detail]:
    return {"as": found["name"].strip()}


_SHAPES: tuple[tuple[str, re.Pattern[str], _Read], ...] = tuple(
    (kind, re.compile(shape, re.IGNORECASE), read)
    for kind, shape, read in (
        # B
        ("runout", r"extruder (?P<drive>\d{1,3}) reports no filament\b", _drive),
        ("pause", r"printing paused\s*$", _step("paused")),
        ("emulation", r"emulating (?P<name>.{1,60}?)\s*$", _emulated),
        ("overrides_not_loaded", r"(?:warning: *)?no M501 command was executed\b", _nothing),
        # D
        ("jam", r"important: *extruder jam detected\b", _cause("jam")),
        ("runout", r"important: *no filament detected\b", _cause("no filament")),
        ("filament_inserted", r"filament inserted\s*$", _nothing),
        ("marks_cleared", r"info: *marked all extruders as unjammed\b", _nothing),
        ("watching", r"jam control disabled: *(?P<disabled>[01])\s*$", _watching),
        ("jam_debugging", r"jam debugging: *[01]\s*$", _nothing),
        ("pause", r"requestpause: *", _step("the host is asked to pause")),
        # E
        ("jam", r"// *filament detector has detected (?P<cause>.{1,80})", _detector),
        ("pause", r"suspending print\b", _step("pausing")),
        ("pause", r"// *print suspended\b", _step("paused")),
        # C
        ("pause", r"// *print already paused\b", _step("already paused")),
        ("pause", r"// *print is not paused\b", _step("not paused")),
        # forks of A, behind a set
        ("runout_set", r"(?:echo:)?\s*runout (?P<word>enabled|disabled|reset|host mode|local mode)\s*$", _runout_set),
    )
)
_COMMENT = re.compile(r"// *\S")


def family_event(text: str) -> Event | None:
    """The event a text line is, or None."""
    state = state_in(text)
    if state is not None:
        return Event("state", text, {"state": state.value})
    for kind, shape, read in _SHAPES:
        if found := shape.match(text):
            return Event(kind, text, read(found))
    return Event("message", text) if _COMMENT.match(text) else None
