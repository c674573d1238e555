"""What an entry may hold at most, and the numbers that books and reports of every bench go by."""

import math
from typing import Any

import pytest
from msgspec import ValidationError, convert

from commission.evidence.codec import read, written
from commission.evidence.entry import Count, Seconds, Size
from commission.evidence.findings.base import MOST_ODDS
from commission.evidence.findings.loop import Polarity
from commission.evidence.runs import REWIRING, RULES, WIRING_DECLARED
from commission.records.chain import canonical
from tests.support.made import found


@pytest.mark.parametrize(
    ("kind", "least", "most"),
    [(Seconds, 0.0, math.nextafter(1e7, 0.0)), (Count, 0, 9_999_999), (Size, 0, 2**62)],
    ids=["seconds: four months", "a count: ten million", "a size: any"],
)
def test_a_number_keeps_its_bounds(kind: Any, least: float, most: float) -> None:
    """The bounds are read; below the least nothing is, and above the most nothing where there is a most."""
    assert (least, most) == (convert(least, kind), convert(most, kind))
    with pytest.raises(ValidationError):
        convert(least - 1, kind)
    if kind is not Size:
        with pytest.raises(ValidationError):
            convert(math.ceil(most) if isinstance(most, float) else most + 1, kind)


def test_odds_without_end_are_a_number_in_json() -> None:
    """A finding of a million million to one comes back from the book; one of odds without end cannot be written."""
    most = found(Polarity, odds=MOST_ODDS)

    assert 1_000_000**2 == MOST_ODDS
    assert most == read(most.kind(), canonical(written(most)))[0]
    with pytest.raises(ValueError, match="not JSON compliant"):
        canonical(written(found(Polarity, odds=math.inf)))


def test_books_of_every_bench_go_by_the_same_words() -> None:
    """A verdict names the rules it was given by; what a note says is looked up by its word. Both stay for good."""
    assert 4 == RULES
    assert ("rewiring", "wiring-declared") == (REWIRING, WIRING_DECLARED)
