"""What the exit code of a command says: the one table for every command, and which of several codes is the worst."""

import inspect
from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar

from commission import ctrl_c
from commission.asking.response import InterruptionKind
from commission.vocabulary import Outcome, Verdict

_F = TypeVar("_F", bound=Callable[..., Any])

PASSED = 0
FAILED = 1
WRONG_USAGE = 2
NOT_FINISHED = 3
NOT_A_PASS = 4
PORT_BUSY = 5
PRINTING = 6
NO_CONSENT = 7
UNDER_WAY = 8
NO_BOOK = 9
INTERNAL = 70
STOPPED = ctrl_c.STOPPED

MEANINGS: Mapping[int, str] = {
    PASSED: "pass, or done",
    FAILED: "fail, an open item of class A (also after a stop), a difference, or something overdue",
    WRONG_USAGE: "wrong usage, or no one to answer; a file that is not to be written over",
    NOT_FINISHED: "not finished: no connection, link lost, interrupted by the printer; or an output cannot be written",
    NOT_A_PASS: "finished, but a conditional pass or not judged",
    PORT_BUSY: "another program has the port",
    PRINTING: "the printer is printing",
    NO_CONSENT: "no consent to open the port with nobody near is on record",
    UNDER_WAY: "another run on this printer is under way",
    NO_BOOK: "the record book cannot be used: missing, empty, another program's, unreadable, or its disk is full",
    INTERNAL: "an error of this program",
    STOPPED: "stopped by the operator, and nothing of class A is open",
}
"""70 is what other programs take for an internal error, and 130 what a shell reports of an interrupted one."""

SEVERITY = (
    FAILED,
    INTERNAL,
    NO_BOOK,
    WRONG_USAGE,
    NO_CONSENT,
    NOT_FINISHED,
    PORT_BUSY,
    UNDER_WAY,
    PRINTING,
    STOPPED,
    NOT_A_PASS,
    PASSED,
)
"""The worst first: what is known to be wrong with a printer; what hinders every command; what somebody must put right
before this one can do its work; what passes by itself; what was left undone on purpose; what passed."""


def exit_code(
    outcome: Outcome, verdict: Verdict, unsafe_items: int, interruption: InterruptionKind | None = None
) -> int:
    """The code for a run: what is unsafe comes first, then what became of the run, then the verdict.

    Args:
        outcome: what became of the run.
        verdict: what it came to.
        unsafe_items: open items of class A.
        interruption: what ended the run, if it did not come to its own end.
    """
    if unsafe_items or verdict is Verdict.FAIL:
        return FAILED
    if outcome is Outcome.STOPPED:
        return STOPPED
    if outcome is not Outcome.COMPLETE:
        return NOT_FINISHED if interruption is None else _INTERRUPTED.get(interruption, NOT_FINISHED)
    return PASSED if verdict is Verdict.PASS else NOT_A_PASS


_INTERRUPTED = {InterruptionKind.PORT_BUSY: PORT_BUSY, InterruptionKind.PRINTING: PRINTING}


def worst(codes: Iterable[int]) -> int:
    """The worst of several codes, as of several printers; 0 for none."""
    return min(codes, key=SEVERITY.index, default=PASSED)


def exits(meanings: Mapping[int, str]) -> Callable[[_F], _F]:
    """Say in a command's help what its codes mean; those that mean the same everywhere stand in `commission --help`."""
    own = "; ".join(f"{code} {meaning}" for code, meaning in meanings.items())

    def add(command: _F) -> _F:
        said = f"Exit codes: {own}; the others as `commission --help` lists them."
        command.__doc__ = f"{inspect.cleandoc(command.__doc__ or '')}\n\n{said}"
        return command

    return add
