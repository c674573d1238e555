"""One line to one classified reply.

A line is judged by its own shape alone, in the order of the table at the foot: what was asked, and what came before,
is the conversation's business. What fits no shape is TEXT and goes to the topic parsers; nothing is dropped.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import Enum
from functools import lru_cache

from commission.dialect.framing import RawLine


class ReplyKind(Enum):
    """What a line is, whatever was asked."""

    ACKNOWLEDGED = "acknowledged"
    BUSY = "busy"
    PAUSED_FOR_USER = "paused for user"
    IDLE = "idle"
    BANNER = "banner"
    ERROR = "error"
    RESEND = "resend"
    UNKNOWN_COMMAND = "unknown command"
    HALTED = "halted"
    ACTION = "action"
    TEMPERATURE = "temperature"
    POSITION = "position"
    ENDSTOPS_HIT = "endstops hit"
    ECHOED_COMMAND = "echoed command"
    INJECTED_COMMAND = "injected command"
    CARD = "card"
    TEXT = "text"
    BLANK = "blank"

    __hash__ = object.__hash__  # it is looked up for every line that comes


class ErrorCode(Enum):
    """Which error a line reports. Most are survivable; only a halt ends the conversation."""

    CHECKSUM = "checksum mismatch"
    LINE_NUMBER = "line number"
    NO_CHECKSUM = "no checksum with line number"
    NO_LINE_NUMBER = "no line number with checksum"
    STOPPED = "stopped"
    HALTED = "halted"
    OTHER = "other"

    @property
    def of_the_line(self) -> bool:
        """Whether the wire is to blame and not the command."""
        return self in _WIRE_ERRORS


_WIRE_ERRORS = (ErrorCode.CHECKSUM, ErrorCode.LINE_NUMBER, ErrorCode.NO_CHECKSUM, ErrorCode.NO_LINE_NUMBER)


@dataclass(frozen=True)
class Reply:
    """One line that came back, classified. A field that the line does not state is None, or empty for text.

    Attributes:
        kind: what the line is.
        raw: the bytes as they came, terminator removed.
        text: the same, printable.
        data: what follows the acknowledgement on its line, or stands before one glued to its end.
        acknowledged_line: the line number an acknowledgement names.
        planner_free, queue_free: free places it names, in blocks and in commands.
        resend_line: the line number the printer asks for.
        last_line: the last good line number an error names.
        error: which error.
        command: the command refused, echoed or injected.
        action: the name of a host action; `argument` is the rest of it, or the reason of a busy line.
        cut: a piece of an overlong line.
    """

    kind: ReplyKind
    raw: bytes
    text: str
    data: str = ""
    acknowledged_line: int | None = None
    planner_free: int | None = None
    queue_free: int | None = None
    resend_line: int | None = None
    last_line: int | None = None
    error: ErrorCode | None = None
    command: str | None = None
    action: str | None = None
    argument: str = ""
    cut: bool = False


_Read = Callable[[Reply, "re.Match[str]"], Reply | None]

_ACKNOWLEDGED = re.compile(r"\s*ok(?=\s|$)\s*(?P<rest>.*)")
_FREE_PLACES = re.compile(r"(?P<letter>[NPB]?)(?P<count>\d{1,9})(?=\s|$)\s*")
# Only these data lines are known to have an acknowledgement glued to their end; `SD card ok` must not become one.
_GLUED = re.compile(r"(?P<data>.*[\d.)])\s*ok\s*$")
_GLUED_TO = re.compile(r"\s*(?:[XT]\d?: ?-?\d|C: ?X:|X_min:)")
_POSITION = re.compile(r"\s*(?:C: ?)?X: ?-?\d+(?:\.\d*)? +Y: ?-?\d")
# The bed or chamber comes first in some; then a target behind it tells it from other numbers.
_TEMPERATURE = re.compile(r"\s*(?:T\d{0,2}: ?-?\d|[BC]: ?-?\d[\d.]{0,9} */)")


def acknowledgement(text: str) -> str | None:
    """What follows `ok` on the line, the free places included; None when the line is no acknowledgement.

    A word that only begins with those two letters is none.
    """
    found = _ACKNOWLEDGED.match(text)
    return None if found is None else found["rest"].rstrip()


def _acknowledged(reply: Reply, found: re.Match[str]) -> Reply:
    fields: dict[str, int] = {}
    names = {"": "acknowledged_line", "N": "acknowledged_line", "P": "planner_free", "B": "queue_free"}
    rest = found["rest"]
    while place := _FREE_PLACES.match(rest):
        fields.setdefault(names[place["letter"]], int(place["count"]))
        rest = rest[place.end() :]
    return Reply(
        ReplyKind.ACKNOWLEDGED,
        reply.raw,
        reply.text,
        data=rest.rstrip(),
        acknowledged_line=fields.get("acknowledged_line"),
        planner_free=fields.get("planner_free"),
        queue_free=fields.get("queue_free"),
    )


def _glued(reply: Reply, found: re.Match[str]) -> Reply | None:
    if not _GLUED_TO.match(found["data"]):
        return None
    return replace(reply, kind=ReplyKind.ACKNOWLEDGED, data=found["data"])


def _busy(reply: Reply, found: re.Match[str]) -> Reply:
    reason = found["reason"].strip()
    kind = ReplyKind.PAUSED_FOR_USER if reason.lower().startswith("paused for") else ReplyKind.BUSY
    return replace(reply, kind=kind, argument=reason)


def _action(reply: Reply, found: re.Match[str]) -> Reply:
    return replace(reply, kind=ReplyKind.ACTION, action=found["name"], argument=found["rest"].strip())


def _resend(reply: Reply, found: re.Match[str]) -> Reply:
    return replace(reply, kind=ReplyKind.RESEND, resend_line=int(found["line"]))


def _named_command(kind: ReplyKind) -> _Read:
    def read(reply: Reply, found: re.Match[str]) -> Reply:
        return replace(reply, kind=kind, command=found["command"].strip().strip('"'))

    return read


def _plain(kind: ReplyKind) -> _Read:
    return lambda reply, _found: replace(reply, kind=kind)


_ERROR_CODES = (
    (re.compile(r"printer halted|kill\(\) called|emergency stop\b", re.IGNORECASE), ErrorCode.HALTED),
    (re.compile(r"printer stopped", re.IGNORECASE), ErrorCode.STOPPED),
    (re.compile(r"no checksum with line number", re.IGNORECASE), ErrorCode.NO_CHECKSUM),
    (re.compile(r"no line number with checksum", re.IGNORECASE), ErrorCode.NO_LINE_NUMBER),
    (re.compile(r"line number is not|expected line \d+ got", re.IGNORECASE), ErrorCode.LINE_NUMBER),
    (re.compile(r"(?:^|:)\s*(?:checksum mismatch|wrong checksum)", re.IGNORECASE), ErrorCode.CHECKSUM),
)
_LAST_LINE = re.compile(r"last line: ?(\d{1,9})", re.IGNORECASE)


def _error(reply: Reply, _found: re.Match[str]) -> Reply:
    code = next((code for shape, code in _ERROR_CODES if shape.search(reply.text)), ErrorCode.OTHER)
    last = _LAST_LINE.search(reply.text)
    return replace(
        reply,
        kind=ReplyKind.HALTED if code is ErrorCode.HALTED else ReplyKind.ERROR,
        error=code,
        last_line=int(last[1]) if last else None,
    )


# Shape, and how to read it; the first that fits decides. Each is anchored at the start and holds no nested
# repetition, so a hostile line costs its length and no more.
_SHAPES: tuple[tuple[re.Pattern[str], _Read], ...] = (
    (_ACKNOWLEDGED, _acknowledged),
    (re.compile(r"\s*wait\s*$"), _plain(ReplyKind.IDLE)),
    (re.compile(r"(?:echo: ?)?busy:(?P<reason>.*)"), _busy),
    (re.compile(r"//\s*action:\s*(?P<name>\S+)(?P<rest>.*)"), _action),
    (re.compile(r"(?:resend: ?|rs )N?(?P<line>\d{1,9})\s*$", re.IGNORECASE), _resend),
    (
        re.compile(r"(?:echo:|//)?\s*unknown (?:command|[GM][ -]?code):?(?P<command>.*)", re.IGNORECASE),
        _named_command(ReplyKind.UNKNOWN_COMMAND),
    ),
    (
        re.compile(
            r"(?:(?:error|warning):)?\s*(?P<command>[GM]\d{1,4}(?:\.\d)?): command is not supported", re.IGNORECASE
        ),
        _named_command(ReplyKind.UNKNOWN_COMMAND),
    ),
    (re.compile(r"(?:echo:)?error:|!!|emergency stop! reset the controller\b", re.IGNORECASE), _error),
    (re.compile(r"start\s*$"), _plain(ReplyKind.BANNER)),
    (
        re.compile(
            r"(?:echo:|info:)?\s*(?:(?:external|brown ?-?out|watchdog|software|power ?up)\s*(?:reset)?\s*$"
            r"|last updated: |compiled: |free (?:memory|ram): ?\d)",
            re.IGNORECASE,
        ),
        _plain(ReplyKind.BANNER),
    ),
    (re.compile(r"(?:echo:)?\s*endstops hit: *\w+: ?-?\d", re.IGNORECASE), _plain(ReplyKind.ENDSTOPS_HIT)),
    (_GLUED, _glued),
    (_TEMPERATURE, _plain(ReplyKind.TEMPERATURE)),
    (_POSITION, _plain(ReplyKind.POSITION)),
    (
        re.compile(r'(?:echo:)?\s*enqueu?e?ing\b[^"]*"(?P<command>[^"]*)"', re.IGNORECASE),
        _named_command(ReplyKind.INJECTED_COMMAND),
    ),
    # A command line without blanks before it and without a comment is our own command said back to us, or a
    # settings line of a build that omits its prefix: only the conversation and the settings grammar can tell.
    (
        re.compile(r"(?:echo:)?(?P<command>(?:N\d+ ?)?[GMT]\d{1,4}(?:\.\d)?(?: [^;]*)?)$"),
        _named_command(ReplyKind.ECHOED_COMMAND),
    ),
    (
        re.compile(
            r"(?:echo:)?\s*(?:not sd printing|sd (?:printing byte|card (?:ok|released)|init fail)|no (?:sd card|media)"
            r"|file (?:opened|selected)|now (?:fresh|doing) file|writing to file|done (?:printing|saving) file)",
            re.IGNORECASE,
        ),
        _plain(ReplyKind.CARD),
    ),
)


@lru_cache(maxsize=256)
def classify(line: RawLine) -> Reply:
    """Say what a line is. Never fails: what fits nothing is TEXT, and so is every piece of an overlong line.

    The lines of a watch are the same again and again: they are looked at once.
    """
    reply = Reply(ReplyKind.TEXT, line.content, line.text, cut=line.cut)
    if line.cut:
        return reply
    if not reply.text.strip():
        return replace(reply, kind=ReplyKind.BLANK)
    for shape, read in _SHAPES:
        if (found := shape.match(reply.text)) and (read_reply := read(reply, found)):
            return read_reply
    return reply
