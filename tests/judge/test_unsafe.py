"""No verdict passes beside an open item of class A; source: this project's own rule, and its classes of open items."""

from itertools import product

import pytest

from commission.judge.unsafe import while_unsafe
from commission.vocabulary import Verdict


@pytest.mark.parametrize(
    ("found_here", "on_record", "stands"),
    [
        (False, False, None),
        (True, False, Verdict.FAIL),
        (False, True, Verdict.NOT_JUDGED),
        (True, True, Verdict.FAIL),
    ],
)
@pytest.mark.parametrize("verdict", [Verdict.PASS, Verdict.CONDITIONAL])
def test_nothing_passes_beside_an_unsafe_item(
    verdict: Verdict, stands: Verdict | None, *, found_here: bool, on_record: bool
) -> None:
    """What the run found fails it; what only the record has leaves it not judged, for this run did not find it."""
    assert (stands or verdict) is while_unsafe(verdict, found_here=found_here, on_record=on_record)


def test_an_unsafe_item_betters_no_verdict() -> None:
    """A fail stays one, and what was not judged is judged by no item."""
    for verdict, here, record in product((Verdict.FAIL, Verdict.NOT_JUDGED), (False, True), (False, True)):
        assert verdict is while_unsafe(verdict, found_here=here, on_record=record)
