"""Does the board know of a job? What it says of its card.

The wording of a card job under way is from memory; a card at rest was seen on real lines.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from commission.dialect.commands import Command, Effect
from commission.dialect.job_answers import CARD_ANSWER, CARD_AT_WORK, CARD_IDLE, CARD_MISSING

# From memory: builds of about 2019 and later take it; an older one says that it does not know it.
STOP_CARD_JOB = Command("M524", "stop the job from the card", Effect.HOST)
CARD = Command("M27", "ask for the state of the card job", Effect.READ_ONLY, CARD_ANSWER)


class CardState(Enum):
    """What the printer says of a job from its card."""

    AT_WORK = "a job from the card is under way"
    IDLE = "no job from the card"
    NO_CARD = "no card"


@dataclass(frozen=True)
class CardJob:
    """The card's state.

    Attributes:
        position_bytes, size_bytes: how far the file has been read; None when not stated.
    """

    state: CardState
    position_bytes: int | None = None
    size_bytes: int | None = None


def card_of(lines: Iterable[str]) -> CardJob | None:
    """What these lines last say of the card; None when they say nothing of it."""
    known = None
    for line in lines:
        known = _card_in(line) or known
    return known


def _card_in(line: str) -> CardJob | None:
    if at_work := CARD_AT_WORK.match(line):
        return CardJob(CardState.AT_WORK, int(at_work["position"]), int(at_work["size"]))
    if CARD_IDLE.match(line):
        return CardJob(CardState.IDLE)
    return CardJob(CardState.NO_CARD) if CARD_MISSING.match(line) else None
