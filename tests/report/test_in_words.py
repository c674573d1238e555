"""Values of the record as a person reads them."""

import pytest

from commission.report.in_words import cell


@pytest.mark.parametrize(
    ("weight", "said"),
    [(6.6e-7, "under 0.1 %"), (0.25, "25.0 %"), (0.99999, "more than 99 %"), (0.0, "0.0 %"), (1.0, "more than 99 %")],
)
def test_a_weight_reads_as_percent_and_neither_end_is_rounded_away(weight: float, said: str) -> None:
    """A share of one is told in percent; what is not nothing is not called nothing."""
    assert said == cell("weight", weight)


def test_only_a_weight_does() -> None:
    """A value of another name keeps its figure, and a weight that is no share too."""
    assert ("0.25", "3.5") == (cell("distance_mm", 0.25), cell("weight", 3.5))
