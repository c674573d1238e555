"""What an acknowledged answer says went wrong: an acknowledgement behind an error is no success.

Every family acknowledges a command that it refused, or could not carry out, like any other. So whether something was
done is told by the lines before the acknowledgement.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from commission.dialect.framing import RawLine
from commission.dialect.replies import Reply, ReplyKind, classify


class Fault(Enum):
    """What kind of trouble an answer tells of."""

    UNKNOWN_COMMAND = "the printer does not know the command"
    GARBLED = "the line was garbled on its way"
    FAILED = "the printer could not do it"
    HALTED = "the printer has halted"


@dataclass(frozen=True)
class Refusal:
    """Why an answer is no success.

    Attributes:
        fault: what kind of trouble.
        text: the printer's words.
        command: the command that it names; None where it names none.
    """

    fault: Fault
    text: str
    command: str | None = None


def refusal_in(reply: Reply) -> Refusal | None:
    """The trouble one line tells of, or None."""
    if reply.kind is ReplyKind.UNKNOWN_COMMAND:
        return Refusal(Fault.UNKNOWN_COMMAND, reply.text.strip(), reply.command)
    if reply.kind is ReplyKind.HALTED:
        return Refusal(Fault.HALTED, reply.text.strip())
    if reply.kind is ReplyKind.ERROR:
        garbled = reply.error is not None and reply.error.of_the_line
        return Refusal(Fault.GARBLED if garbled else Fault.FAILED, reply.text.strip())
    return None


def refusal_of(lines: Iterable[str]) -> Refusal | None:
    """The first trouble that these lines tell of; None when they tell of none, acknowledged or not."""
    found = (refusal_in(classify(RawLine.of(line))) for line in lines)
    return next((refusal for refusal in found if refusal is not None), None)
