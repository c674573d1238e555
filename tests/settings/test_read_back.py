"""A sent line is proven by the report that follows it."""

import pytest

from commission.settings.plan_items import Decision
from commission.settings.read_back import not_taken
from commission.settings.restore_line import RestoreLine
from commission.settings.restore_plan import plan_restore
from tests.settings.reports import report


def sent() -> RestoreLine:
    """A line for the second hotend."""
    plan = plan_restore(report("M92 T1 E97.50"), report("M92 T1 E93.00"))
    (line,) = [item.line for item in plan.of(Decision.SEND) if item.line]
    return line


@pytest.mark.parametrize("now", ["M92 T1 E97.50", "M92 T1 E97.500", "M92 T1 E97.5"])
def test_a_value_that_was_taken(now: str) -> None:
    """A report with the same number in any precision proves the line."""
    assert () == not_taken(sent(), report("M92 T0 E410.00", now))


@pytest.mark.parametrize(
    ("now", "complaint"),
    [
        ("M92 T1 E93.00", "M92 T1 E97.50: the printer reports E93.00 after it."),
        ("M92 T0 E97.50", "M92 T1 E97.50: the printer does not report E after it."),
        ("M92 T1 Enan", "M92 T1 E97.50: the printer reports Enan after it."),
        ("M203 T1 E97.50", "M92 T1 E97.50: the printer does not report E after it."),
    ],
)
def test_a_value_that_was_not_taken(now: str, complaint: str) -> None:
    """A report with another number, or without it, does not prove the line."""
    assert (complaint,) == not_taken(sent(), report(now))
