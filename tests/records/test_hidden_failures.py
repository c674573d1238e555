"""Which failed checks found something that nobody had noticed."""

from pathlib import Path

import pytest

from commission.evidence.findings.base import Finding
from commission.evidence.findings.cause import Diagnosis
from commission.evidence.findings.meeting import Repair
from commission.evidence.findings.series import ChangeMade
from commission.records.checks import check_records
from commission.records.hidden_failures import hidden_failures
from commission.records.notes import add_note
from tests.records.books import Workshop

Check = tuple[str, str, tuple[type[Finding], dict[str, bool]] | None]
"""Purpose, verdict, and what was found in it beside that."""
FAILED, PASSED = ("full check", "fail", None), ("full check", "pass", None)
FOUND: dict[str, tuple[type[Finding], dict[str, bool]]] = {
    "decided": (Diagnosis, {"decided": True}),
    "not decided": (Diagnosis, {"decided": False}),
    "repair": (Repair, {}),
    "change": (ChangeMade, {}),
}


def failed(found: str, verdict: str = "fail") -> Check:
    """A check with that finding."""
    return ("full check", verdict, FOUND[found])


def counted(folder: Path, checks: list[Check], *, changed_after: int | None = None) -> int:
    """How many of these checks count, one behind the other; perhaps with a noted change behind one of them."""
    workshop = Workshop(folder)
    for count, (purpose, verdict, found) in enumerate(checks):
        number = f"bench-3/2031-03-14/{count}"
        workshop.begin(number, purpose)
        if found is not None:
            workshop.find(number, found[0], **found[1])
        workshop.end(number, verdict)
        if count == changed_after:
            add_note(workshop.book, "bench-3", "rewiring", "the lead")
    return hidden_failures(workshop.book, check_records(workshop.book, "bench-3"))


@pytest.mark.parametrize(
    ("checks", "hidden"),
    [
        ([], 0),
        ([PASSED], 0),
        ([FAILED], 0),
        ([FAILED, PASSED], 0),
        ([FAILED, FAILED], 1),
        ([FAILED, FAILED, FAILED], 2),
        ([PASSED, FAILED, FAILED, PASSED], 1),
        ([failed("decided")], 1),
        ([failed("decided"), PASSED], 1),
        ([failed("not decided"), PASSED], 0),
        ([failed("repair")], 1),
        ([failed("change")], 1),
        ([failed("repair", "pass"), PASSED], 0),
        ([FAILED, failed("change", "pass")], 1),
        ([FAILED, failed("not decided", "pass")], 0),
        ([FAILED, ("full check", "not judged", None), PASSED], 0),
        ([FAILED, ("full check", "not judged", None), FAILED], 1),
        ([FAILED, failed("repair", "not judged"), PASSED], 1),
        ([FAILED, failed("decided", "not judged"), PASSED], 0),
        ([("install", "fail", FOUND["repair"]), FAILED], 0),
        ([("install", "fail", None), FAILED, FAILED], 1),
    ],
)
def test_a_failure_counts_when_something_confirms_it(tmp_path: Path, checks: list[Check], hidden: int) -> None:
    """A cause found in it, a change signed for in it or in the next check, or a next one that failed too."""
    assert hidden == counted(tmp_path, checks)


@pytest.mark.parametrize(("after", "hidden"), [(0, 1), (1, 0)])
def test_a_change_that_is_noted_confirms_a_failure(tmp_path: Path, after: int, hidden: int) -> None:
    """Where it lies between the failed check and the next one."""
    assert hidden == counted(tmp_path, [FAILED, PASSED], changed_after=after)
