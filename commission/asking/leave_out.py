"""The only way of leaving something out: a reason is asked for, and both go into the record."""

from collections.abc import Callable

from commission.asking.request import Enter
from commission.asking.steps import Steps, enter, establish
from commission.evidence.findings.base import Finding

Record = Callable[[str], Finding]
"""Makes the finding that something was left out, from the reason as typed; it may be empty."""


def leave_out(what: str, key: str, record: Record, *, needed: bool = False) -> Steps[str]:
    """Ask why it is left out and record that it is.

    Args:
        what: how it is called in a sentence, as in `the loop check`.
        key: names the question for a scripted operator.
        record: makes the finding.
        needed: whether a reason must be given; else an empty answer is none.

    Returns:
        The reason, as typed.
    """
    then = "for the report" if needed else "empty: no reason"
    reason = yield from enter(Enter(key, f"Why is {what} left out? ({then})", optional=not needed))
    yield from establish(record(reason))
    return reason


def said_left_out(what: str, reason: str) -> str:
    """That it was left out, in a sentence."""
    given = reason.strip().rstrip(".")
    return f"Left out by the operator: {what} ({given})." if given else f"Left out by the operator: {what}."
