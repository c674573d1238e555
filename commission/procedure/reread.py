"""The request to read back what a done phase of this run was answered, and one such answer."""

from dataclasses import dataclass

from commission.procedure.response import HoldReleased, TrialTaken, WatchTaken
from commission.session import Exchange


@dataclass(frozen=True)
class Reread:
    """Read back what the phase of this name was answered when this run last carried it out to its end."""

    phase: str


@dataclass(frozen=True)
class Given:
    """One answer as the book holds it.

    Attributes:
        to: what tells the request it answers from the next one.
        response: the answer.
    """

    to: tuple[str, ...]
    response: bool | str | TrialTaken | WatchTaken | HoldReleased | Exchange
