"""How many checks found a failure that nobody had noticed: what the interval of the checks is worked out from.

A fail alone is none: one slip of a hand fails nothing, but two may. It counts when a cause was found in that run, when
something was changed after it that is signed for, or when the next check failed too.
"""

from collections.abc import Sequence
from itertools import pairwise

from commission.evidence.findings import meeting
from commission.evidence.findings.base import Finding
from commission.evidence.findings.cause import Diagnosis
from commission.evidence.findings.series import ChangeMade
from commission.evidence.found import Established
from commission.records.book import Book
from commission.records.checks import CheckRecord
from commission.vocabulary import Verdict


def hidden_failures(book: Book, checks: Sequence[CheckRecord]) -> int:
    """Failed checks, installations apart, whose failure was one.

    Args:
        book: the record book.
        checks: completed runs of one printer, oldest first.
    """
    judged = [check for check in checks if check.run.verdict is not Verdict.NOT_JUDGED]
    shown = {
        record.run
        for record in book.records(Established, runs={check.run.number for check in judged})
        if _shows_a_cause(record.entry.finding)
    }
    pairs = pairwise([*judged, None])
    return sum(
        check is not None
        and check.run.purpose != "install"
        and check.run.verdict is Verdict.FAIL
        and (check.run.number in shown or (after is not None and _confirms(check, after, shown)))
        for check, after in pairs
    )


def _confirms(check: CheckRecord, after: CheckRecord, shown: set[str]) -> bool:
    again = after.run.verdict is Verdict.FAIL
    changed = after.measured.wiring != check.measured.wiring or after.run.number in shown
    return again or changed


def _shows_a_cause(finding: Finding) -> bool:
    match finding:
        case Diagnosis(decided=decided):
            return decided
    return isinstance(finding, meeting.Repair | ChangeMade)
