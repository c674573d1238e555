"""A done phase's result, worked out again by its own steps from the answers that the book holds.

The evidence stands in the book once. A phase holds no port and no clock, so the same steps with the same answers come
to the same result, whether they were given just now or before the run was broken off. Nothing is asked, said or
written.
"""

from collections.abc import Sequence
from typing import TypeVar

from commission.evidence import measured, talk, wire
from commission.procedure.message import Establish, Punch, Tell
from commission.procedure.request import (
    Ask,
    Choose,
    Confirm,
    Enter,
    Hold,
    PhaseBegins,
    PhaseEnds,
    Request,
    TakeTrial,
    Watch,
)
from commission.procedure.reread import Given
from commission.procedure.response import Interrupted
from commission.procedure.steps import Steps, reread

_T = TypeVar("_T")
SAID = (Tell, Establish, Punch, PhaseBegins, PhaseEnds)


def worked_out_again(steps: Steps[_T], phase: str) -> Steps[_T | None]:
    """What the phase came to when this run carried it out; None when the book does not hold that.

    Args:
        steps: the phase as it would be carried out now, not yet begun.
        phase: its fixed name.
    """
    return played_back(steps, (yield from reread(phase)))


def played_back(steps: Steps[_T], given: Sequence[Given]) -> _T | None:
    """Give the steps these answers; None when they ask for anything else, or for more, or for less.

    So a phase that asks other questions than it did, of another version or with another switch, is done again.
    """
    left = list(given)
    response: object = None
    while True:
        try:
            request = steps.send(response)
        except StopIteration as end:
            result: _T = end.value
            return None if left else result
        except Interrupted:  # what the answers hold ends the phase, so it was no done one
            return None
        response = None
        if isinstance(request, SAID):
            continue
        if not left or left[0].to != asked_by(request):
            steps.close()
            return None
        response = left.pop(0).response


def asked_by(request: Request) -> tuple[str, ...] | None:
    """What tells a request from the next one, as `Given.to` has it; None for one that is not read back."""
    match request:
        case Confirm() | Choose() | Enter():
            return (talk.Answered.kind(), request.key)
        case TakeTrial():
            number, cycle = str(request.number), str(request.cycle)
            asked = (number, cycle, request.instruction.value, request.presence.value, request.switch)
            return (measured.Trial.kind(), *asked)
        case Watch():
            return (measured.Watch.kind(), request.key, request.switch)
        case Hold():
            return (talk.HoldReleased.kind(), request.key)
        case Ask():
            return (wire.Result.kind(), request.command.text)
    return None
