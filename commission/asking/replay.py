"""A done phase's result, worked out again by its own steps from the answers that the book holds.

The evidence stands in the book once. A phase holds no port and no clock, so the same steps with the same answers come
to the same result, whether they were given just now or before the run was broken off. Nothing is asked, said or
written.
"""

from collections.abc import Sequence
from typing import TypeVar

from commission.asking.reread import RecordedAnswer
from commission.asking.response import Interrupted
from commission.asking.steps import Steps, reread
from commission.asking.table import ANSWERED, response_of
from commission.asking.taken_back import AnotherAnswer

_T = TypeVar("_T")


def worked_out_again(steps: Steps[_T], phase: str) -> Steps[_T | None]:
    """What the phase came to when this run carried it out; None when the book does not hold that.

    Args:
        steps: the phase as it would be carried out now, not yet begun.
        phase: its fixed name.
    """
    return played_back(steps, (yield from reread(phase)))


def played_back(steps: Steps[_T], answers: Sequence[RecordedAnswer]) -> _T | None:
    """Give the steps these answers; None when they ask for anything else, or for more, or for less.

    So a phase that asks other questions than it did, of another version or with another switch, is done again.
    """
    left = list(answers)
    response: object = None
    try:
        while True:
            request = steps.send(response)
            response = None
            if isinstance(request, ANSWERED):
                response = response_of(request, left.pop(0))
    except StopIteration as end:
        result: _T = end.value
        return None if left else result
    except (AnotherAnswer, IndexError, Interrupted):  # what is thrown by the answers ended no phase that is done
        steps.close()
        return None
