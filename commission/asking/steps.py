"""How a phase asks: one small generator a request, so that a phase reads as sentences and every answer has its type."""

from collections.abc import Generator, Mapping
from typing import Any, TypeVar

from commission.asking.message import Establish
from commission.asking.moving import Heard, Listen, MovesRun, RunMoves, Say
from commission.asking.request import (
    Ask,
    Choose,
    Confirm,
    Enter,
    Fingerprint,
    Hold,
    Keep,
    Recall,
    Release,
    Request,
    TakeTrial,
    Watch,
)
from commission.asking.reread import RecordedAnswer, Reread
from commission.asking.response import HoldReleased, TrialTaken, WatchTaken
from commission.dialect.commands import Command
from commission.evidence.findings.base import Finding
from commission.session import Exchange

_T = TypeVar("_T")
_F = TypeVar("_F", bound=Finding)


class WrongResponse(TypeError):
    """A request was answered by something that is no response to it: an error of the conductor, not of the operator."""


def checked(response: object, kind: type[_T], request: Request) -> _T:
    """The response, if it is of the kind this request is answered by."""
    if not isinstance(response, kind):
        raise WrongResponse(f"{type(request).__name__} was answered by {type(response).__name__}")
    return response


Steps = Generator[Request, Any, _T]
"""A phase, or a part of one: yields requests, is sent responses, returns a result of its own."""


def confirm(request: Confirm) -> Steps[bool]:
    """Ask for a yes or no."""
    return checked((yield request), bool, request)


def choose(request: Choose) -> Steps[str]:
    """Ask for one of a list."""
    return checked((yield request), str, request)


def enter(request: Enter) -> Steps[str]:
    """Ask for a value."""
    return checked((yield request), str, request)


def ask(command: Command, timeout_s: float = 5.0, release: str = "") -> Steps[Exchange]:
    """Send a command to the printer; one that does more than read goes out under a release."""
    request = Ask(command, timeout_s, release)
    return checked((yield request), Exchange, request)


def release(request: Release) -> Steps[bool]:
    """Ask for a release; a no is an answer, and nothing is sent."""
    return checked((yield request), bool, request)


def take(request: TakeTrial) -> Steps[TrialTaken]:
    """Have one trial taken."""
    return checked((yield request), TrialTaken, request)


def watch(request: Watch) -> Steps[WatchTaken]:
    """Have the switch watched."""
    return checked((yield request), WatchTaken, request)


def hold(request: Hold) -> Steps[HoldReleased]:
    """Wait at a hold point."""
    return checked((yield request), HoldReleased, request)


def establish(finding: Finding, briefly: tuple[str, ...] = ()) -> Steps[None]:
    """Record a finding and tell the operator: all of it, or in few words what the record has whole."""
    yield Establish(finding, briefly)


def recall(kind: type[_F], *, earlier: bool = False) -> Steps[_F | None]:
    """Read a finding of this run back from the book, or the newest one of the printer's earlier runs."""
    request = Recall(kind, earlier)
    response = yield request
    return None if response is None else checked(response, kind, request)


def reread(phase: str) -> Steps[tuple[RecordedAnswer, ...]]:
    """Read back what the phase was answered when this run last carried it out to its end; empty where it did not."""
    request = Reread(phase)
    return checked((yield request), tuple, request)


def fingerprint(path: str) -> Steps[Mapping[str, Any] | None]:
    """Say which file this is; None when it cannot be read."""
    request = Fingerprint(path)
    response = yield request
    return None if response is None else checked(response, dict, request)


def keep(name: str, text: str, purpose: str) -> Steps[str]:
    """Have a file written."""
    request = Keep(name, text, purpose)
    return checked((yield request), str, request)


def run_moves(request: RunMoves) -> Steps[MovesRun]:
    """Have test moves run while the switch is read."""
    return checked((yield request), MovesRun, request)


def say(command: Command, release: str) -> Steps[None]:
    """Say an urgent word; what came of it is heard afterwards."""
    yield Say(command, release)


def listen(request: Listen) -> Steps[Heard]:
    """Hear what the printer says by itself."""
    return checked((yield request), Heard, request)
