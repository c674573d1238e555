"""How each family behaves in a conversation: what it says while it works, how it acknowledges, what it heeds.

None means that it is not known. What follows for patience: a family without keepalives may be silent for as long as it
heats, homes or runs what stands before the question, and that silence is no sign of a lost printer.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from commission.dialect.answers import Acknowledging
from commission.dialect.family import Family
from commission.dialect.framing import RawLine
from commission.dialect.identity import is_identity_line
from commission.dialect.replies import ReplyKind, classify


@dataclass(frozen=True)
class Habits:
    """How one family behaves.

    Attributes:
        keepalives: it says so while it is busy.
        idle_words: it says so while it has nothing to do.
        acknowledges_first: the acknowledgement comes before the answer.
        acknowledging: the ways in which it may acknowledge; the first is the usual one.
        heeds_line_numbers: it checks numbers and checksums, and asks for a line again.
        runs_user_files: a number that it does not know runs a file of its user's, so no number may be tried; which
            are known stands in `purity`.
        lists_sensors: the console can list the sensors; where it cannot, their names must be known.
        answers_when_halted: after a stop it still answers questions about its state.
        dialogue_blocks: with a dialogue on its own display it answers nothing until a person acts.
    """

    keepalives: bool | None
    idle_words: bool = False
    acknowledges_first: bool = False
    acknowledging: tuple[Acknowledging, ...] = (Acknowledging.WORD,)
    heeds_line_numbers: bool | None = True
    runs_user_files: bool = False
    lists_sensors: bool = True
    answers_when_halted: bool = False
    dialogue_blocks: bool | None = None


HABITS: Mapping[Family, Habits] = MappingProxyType(
    {
        Family.A: Habits(keepalives=True, dialogue_blocks=False),
        Family.B: Habits(
            keepalives=None,
            acknowledging=(Acknowledging.WORD, Acknowledging.EMPTY_LINE),
            runs_user_files=True,
            answers_when_halted=True,
        ),
        Family.C: Habits(
            keepalives=False,
            heeds_line_numbers=False,
            lists_sensors=False,
            answers_when_halted=True,
            dialogue_blocks=False,
        ),
        Family.D: Habits(keepalives=True, idle_words=True, acknowledges_first=True, dialogue_blocks=True),
        Family.E: Habits(keepalives=None, heeds_line_numbers=None),
    }
)


def acknowledging_of(lines: Iterable[str]) -> Acknowledging | None:
    """How the printer acknowledged its identity answer, once the line fell quiet; None when there is no such answer.

    Where the answer came and no acknowledgement with it, empty replies are empty lines there.
    """
    replies = [classify(RawLine.of(line)) for line in lines]
    if any(reply.kind is ReplyKind.ACKNOWLEDGED for reply in replies):
        return Acknowledging.WORD
    return Acknowledging.EMPTY_LINE if any(is_identity_line(reply.text) for reply in replies) else None
