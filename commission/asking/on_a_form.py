"""Steps whose questions were answered together beforehand, and steps whose requests somebody else takes note of."""

from collections.abc import Callable, Collection
from typing import TypeVar

from commission.asking.form import Answers, Form, Known
from commission.asking.request import Choose, Confirm, Enter, Request
from commission.asking.response import Interrupted
from commission.asking.steps import Steps

_T = TypeVar("_T")
Note = Callable[[Request, object], None]


def on_a_form(sheet: Form, steps: Callable[[], Steps[_T]], tells: Collection[str] = ()) -> Steps[_T]:
    """Have the sheet filled in, then carry out the steps: they ask only what it leaves open.

    Args:
        sheet: what is asked together.
        steps: makes the steps that ask for it, each question under the key it has on the sheet.
        tells: keys of the questions whose lines are still said where they come.
    """
    answers = yield sheet
    return (yield from known(steps(), sheet.expand(answers) if answers else {}, tells))


def known(steps: Steps[_T], answers: Answers, tells: Collection[str] = ()) -> Steps[_T]:
    """Carry out steps with what is answered already; each of these answers is given once, and then asked for again."""
    left = dict(answers)

    def answered(request: Request) -> Request:
        if not isinstance(request, Confirm | Choose | Enter) or request.key not in left:
            return request
        answer = left.pop(request.key)
        if isinstance(request, Confirm) and request.afresh:
            return request
        return Known(request, answer, tells=request.key in tells)

    return passed_on(steps, instead=answered)


def passed_on(
    steps: Steps[_T],
    note: Note = lambda _request, _response: None,
    instead: Callable[[Request], Request] = lambda request: request,
) -> Steps[_T]:
    """The same steps, request by request; what interrupts one goes to them.

    Args:
        steps: what is carried out.
        note: is told of each request once it was fulfilled.
        instead: what is asked in place of a request.
    """
    broken: Interrupted | None = None
    response: object = None
    try:
        while True:
            request = instead(steps.send(response) if broken is None else steps.throw(broken))
            broken, response = None, None
            try:
                response = yield request
            except Interrupted as thrown:
                broken = thrown
            else:
                note(request, response)
    except StopIteration as end:
        result: _T = end.value
        return result
    finally:
        steps.close()
