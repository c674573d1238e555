"""A sensor tried on a borrowed socket, right before the first build: what that build must say."""

from dataclasses import replace

from commission import command_lines
from commission.asking.cautions import GENERAL
from commission.asking.message import Tell, Weight
from commission.asking.steps import Steps
from commission.jobs.install import JobResult
from commission.judge.plan import Plan
from commission.procedure.borrow.prediction import predicted
from commission.procedure.borrow.socket import NOTHING_MOVES, socket_to_borrow
from commission.procedure.borrow.trying import tried_on_socket
from commission.procedure.borrow.wired import wired_to_socket
from commission.procedure.meeting.identify import identify
from commission.procedure.meeting.identity import Surroundings, same_printer
from commission.procedure.meeting.printing import not_printing
from commission.procedure.meeting.sign_off import sign_off
from commission.procedure.meeting.unsafe import UnsafeItems
from commission.vocabulary import Verdict

CYCLES = 6
WHAT_IT_IS = (
    "The sensor is tried for a quarter of an hour on an input that the present firmware reads: an endstop's socket.",
    "It says what the first build must say. It commissions nothing: whatever comes of it, "
    f"`{command_lines.INSTALL}` follows after the reflash.",
    f"The plan: {CYCLES} cycles of filament in and out in an order fixed beforehand, more only where they decide "
    "nothing; the empty socket is read before them. One misread is allowed.",
)


def borrow_run(plan: Plan, operator: str, surroundings: Surroundings) -> Steps[JobResult]:
    """The whole job; a pass says that the prediction is unambiguous and the endstop works again, and no more.

    Where the direction of the socket's pull is only declared, it is a conditional pass: an empty socket that nothing
    holds may rest at either level.

    Args:
        plan: the countdown, the length of a dwell and the seed; its cycles are this job's own.
        operator: who does it.
        surroundings: what was known before the port was opened.
    """
    unsafe = UnsafeItems()
    return (yield from unsafe.noted(_walk(replace(plan, cycles=CYCLES), operator, surroundings, unsafe)))


def _walk(plan: Plan, operator: str, surroundings: Surroundings, unsafe: UnsafeItems) -> Steps[JobResult]:
    yield Tell((*GENERAL, NOTHING_MOVES[0]), heading="Before you begin", weight=Weight.CAUTION)
    yield Tell(WHAT_IT_IS, heading="What this is, and what it is not")
    identity = yield from identify()
    yield from same_printer(surroundings, identity)
    yield from not_printing()
    verdict = yield from unsafe.held_against((yield from _borrowed(plan)))
    yield from sign_off(operator)
    return JobResult(verdict)


def _borrowed(plan: Plan) -> Steps[Verdict]:
    lent = yield from socket_to_borrow(plan)
    wired = None if lent is None else (yield from wired_to_socket())
    if lent is None or wired is None:
        return Verdict.NOT_JUDGED
    (socket, own), (installation, declared) = lent, wired
    tried = yield from tried_on_socket(plan, socket, own, installation)
    if tried.readings is None:
        return Verdict.NOT_JUDGED
    found = yield from predicted(socket, tried.readings, declared)
    if not (found.unambiguous and tried.handed_back):
        return Verdict.NOT_JUDGED
    return Verdict.PASS if found.pull_shown else Verdict.CONDITIONAL
