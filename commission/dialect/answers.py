"""When is the answer to a command complete?

Most printers answer first and acknowledge last, so the acknowledgement ends the exchange. Two habits break that rule:
one family acknowledges first and answers after, and some put the answer on the acknowledgement's own line. A lost or
late acknowledgement looks like the first habit. So an answer is judged by what it must contain:

- nothing but the acknowledgement (`SILENT`);
- a *part*: a line of an answer that an acknowledgement closes. It counts only with an acknowledgement on or after it;
- the *whole*: a line that says everything by itself. With it and an acknowledgement, in either order, all is said.

A stray acknowledgement before the answer therefore leaves the exchange open instead of closing it empty.

One family can be told to acknowledge nothing: then an empty reply is an empty line, and what has content is content
alone. There an answer of a `single` line is complete with that line, and a longer one only when the line falls quiet.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum

from commission.dialect.framing import RawLine
from commission.dialect.replies import ErrorCode, Reply, ReplyKind, classify

_NEVER = re.compile(r"(?!)")


class Acknowledging(Enum):
    """How a printer says that it is done with a command."""

    WORD = "the word of acknowledgement"
    EMPTY_LINE = "an empty line for an empty reply, and nothing behind any other"


@dataclass(frozen=True)
class Answer:
    """What a command's answer must contain.

    Attributes:
        name: what is asked for, in one word.
        part: shape of the lines of an answer that an acknowledgement closes.
        whole: shape of a line that is the whole answer.
        kinds: reply kinds that are the answer here and an aside anywhere else.
        takes_any_text: text of no known shape belongs to the answer, as in a settings listing.
        single: one line of it is all of it.
    """

    name: str
    part: re.Pattern[str] = _NEVER
    whole: re.Pattern[str] = _NEVER
    kinds: frozenset[ReplyKind] = frozenset()
    takes_any_text: bool = False
    single: bool = False

    def __post_init__(self) -> None:
        if not self.name.isidentifier():
            raise ValueError(f"an answer is named in one word, not {self.name!r}")

    @property
    def expects_lines(self) -> bool:
        """Whether an acknowledgement alone is no answer."""
        return self.part is not _NEVER or self.whole is not _NEVER or bool(self.kinds)

    def complete(self, lines: Sequence[str]) -> bool:
        """Whether these lines, acknowledgements among them, are the complete answer."""
        progress = AnswerProgress(self)
        for line in lines:
            progress.add(classify(RawLine.of(line)))
        return progress.complete

    def has_part(self, reply: Reply) -> bool:
        """Whether this line, or the data on its acknowledgement, belongs to an answer that must still be closed."""
        return self.part.match(_said(reply)) is not None

    def has_whole(self, reply: Reply) -> bool:
        """Whether this line, or the data on its acknowledgement, is everything there is to say: a refusal is."""
        if reply.kind in self.kinds or reply.kind is ReplyKind.UNKNOWN_COMMAND:
            return True
        if reply.kind is ReplyKind.ERROR and reply.error in (ErrorCode.OTHER, ErrorCode.STOPPED):
            return True
        return self.whole.match(_said(reply)) is not None

    def takes(self, reply: Reply) -> bool:
        """Whether the line belongs to this answer and is not an aside."""
        if self.has_whole(reply) or self.has_part(reply):
            return True
        return self.takes_any_text and reply.kind in (ReplyKind.TEXT, ReplyKind.ECHOED_COMMAND)


class AnswerProgress:
    """How far one answer has come; fed line by line, so that a long one costs no second look.

    Attributes:
        unacknowledged: nothing but content comes, so content closes the answer as far as it can be closed.
    """

    def __init__(self, answer: Answer, acknowledging: Acknowledging = Acknowledging.WORD) -> None:
        self.unacknowledged = acknowledging is Acknowledging.EMPTY_LINE
        self._answer = answer
        self._part = False
        self._whole = False
        self._acknowledged = False
        self._closed = False

    def acknowledges(self, reply: Reply) -> bool:
        """Whether this line acknowledges the command: an empty one does only where it stands for an empty reply."""
        if reply.kind is ReplyKind.ACKNOWLEDGED:
            return True
        return self.unacknowledged and reply.kind is ReplyKind.BLANK and not self._answer.expects_lines

    def add(self, reply: Reply) -> None:
        """Take one more line into account."""
        self._part = self._part or self._answer.has_part(reply)
        self._whole = self._whole or self._answer.has_whole(reply)
        if self.acknowledges(reply):
            self._acknowledged = True
            self._closed = self._closed or self._part or not self._answer.expects_lines
        elif self.unacknowledged and self.has_lines:
            self._acknowledged = True
            self._closed = self._closed or self._answer.single

    def fell_quiet(self) -> None:
        """Nothing more came for a while: where nothing is acknowledged, what has come is all."""
        self._closed = self._closed or (self.unacknowledged and self.has_lines)

    @property
    def has_lines(self) -> bool:
        """Whether anything of the answer itself has come."""
        return self._part or self._whole

    @property
    def complete(self) -> bool:
        """Whether nothing more is to come."""
        return self._closed or (self._acknowledged and self._whole)


def _said(reply: Reply) -> str:
    return reply.data if reply.kind is ReplyKind.ACKNOWLEDGED else reply.text


def _shape(*forms: str) -> re.Pattern[str]:
    return re.compile("|".join(f"(?:{form})" for form in forms), re.IGNORECASE)


def names(answers: Iterable[Answer]) -> str:
    """The answers' names in one line."""
    return ", ".join(answer.name for answer in answers)


SILENT = Answer("acknowledgement")

IDENTITY_ANSWER = Answer(
    "identity",
    part=_shape(r"\s*firmware_(?:name|version):", r"cap:", r"area:"),
    # The family that acknowledges first is known by the protocol entry that carries its own name.
    whole=_shape(r"\s*firmware_name:.* (?!protocol)\w{1,40}_protocol:\d"),
)

SWITCHES_ANSWER = Answer(
    "switches",
    part=_shape(
        r"(?:echo:)?\s*reporting endstop status",
        r"(?:echo:)?[^:]{0,80}: ?(?:open|triggered|[HL])\s*$",
    ),
    whole=_shape(
        r"(?:echo:)?\s*endstops hit: ?\w+: ?[HL]\b",
        r"(?:[GM]\d+: )?endstops - ",
        r"\s*[a-z]\w{0,15}: ?(?:open|triggered|[HL01]) +[a-z]\w{0,15}: ?(?:open|triggered|[HL01])\b",
    ),
)

SETTINGS_ANSWER = Answer(
    "settings",
    part=_shape(r"(?:echo:)?\s*[GMC]\d{1,4}(?:[ ;.]|$)", r"epr:", r"(?:echo:)?\s*;"),
    takes_any_text=True,
)

RUNOUT_ANSWER = Answer(
    "runout_control",
    # Some forks add a line for each sensor, labelled as in the switch report and worded otherwise.
    part=_shape(r"(?:echo:)?\s*filament runout", r"(?:echo:)?\s*filament(?: \d)?: *(?!open|triggered|[HL]\s*$)[a-z]"),
)

TEMPERATURES_ANSWER = Answer(
    "temperatures",
    whole=_shape(r"\s*(?:T\d{0,2}: ?-?\d|[BC]: ?-?\d[\d.]{0,9} */)"),
    kinds=frozenset({ReplyKind.TEMPERATURE}),
)

POSITION_ANSWER = Answer("position", whole=_shape(r"\s*(?:C: ?)?X: ?-?\d"), kinds=frozenset({ReplyKind.POSITION}))

COLD_EXTRUSION_ANSWER = Answer("cold_extrusion", part=_shape(r"(?:echo:)?\s*cold extrudes are"))

COUNTERS_ANSWER = Answer("counters", takes_any_text=True)

KEEPALIVE_ANSWER = Answer("keepalive", part=_shape(r"(?:echo:)?\s*M113 S\d"))

STORAGE_ANSWER = Answer(
    "storage",
    part=_shape(
        r"(?:echo:)?\s*(?:V\w+ )?(?:stored )?settings (?:stored|retrieved)",
        r"(?:echo:|error:)?\s*eeprom",
        r"(?:echo:)?\s*hardcoded default settings",
    ),
    whole=_shape(r"configuration (?:stored|reset)"),
    takes_any_text=True,
)

PIN_ANSWER = Answer("pins", part=_shape(r"pin: "), takes_any_text=True)
