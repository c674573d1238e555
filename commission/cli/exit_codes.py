"""What the exit code of a command says."""

from commission.vocabulary import Outcome, Verdict

PASSED = 0
FAILED = 1
WRONG_USAGE = 2
NOT_FINISHED = 3
NOT_A_PASS = 4
STOPPED = 130

MEANINGS = {
    PASSED: "pass",
    FAILED: "fail, or an open item of class A",
    WRONG_USAGE: "wrong usage, or no one to answer",
    NOT_FINISHED: "not finished: no connection, the link was lost, or the printer interrupted it",
    NOT_A_PASS: "finished, but a conditional pass or not judged",
    STOPPED: "stopped by the operator",
}


def exit_code(outcome: Outcome, verdict: Verdict, unsafe_items: int) -> int:
    """The code for a run: what became of it first, then open A items, then the verdict."""
    if outcome is Outcome.STOPPED:
        return STOPPED
    if outcome is not Outcome.COMPLETE:
        return NOT_FINISHED
    if verdict is Verdict.FAIL or unsafe_items:
        return FAILED
    return PASSED if verdict is Verdict.PASS else NOT_A_PASS
