"""What an open item of class A leaves of a verdict: the one rule, for every run.

Class A means that it is unsafe to go on. So nothing passes beside one, not with conditions either: what this run found
and left open fails it; what the record has open, and this run does not clear, leaves it not judged, because this run
did not find it and cannot take it back. Source: this project's own rule.
"""

from commission.vocabulary import Verdict

PASSED = (Verdict.PASS, Verdict.CONDITIONAL)


def while_unsafe(verdict: Verdict, *, found_here: bool, on_record: bool) -> Verdict:
    """The verdict that stands beside open items of class A.

    Args:
        verdict: what the run came to by its own rules.
        found_here: this run left one open.
        on_record: earlier runs left one open, or failed, and this run does not clear that.
    """
    if verdict not in PASSED:
        return verdict
    if found_here:
        return Verdict.FAIL
    return Verdict.NOT_JUDGED if on_record else verdict
