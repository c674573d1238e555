"""Several processes on one book, in small; `scripts/campaigns/concurrency.py` does it with two dozen."""

import random
from collections.abc import Callable
from pathlib import Path

import pytest

from scripts.campaigns.concurrency import Score, kills, numbers, one_printer, readers


@pytest.mark.parametrize(
    ("trial", "least"),
    [
        (lambda folder, score: one_printer(folder, 3, score), 7),
        (lambda folder, score: numbers(folder, 3, 4, score), 6),
        (lambda folder, score: readers(folder, 2, 40, score), 8),
        (lambda folder, score: kills(folder, 2, random.Random(1), score), 4),  # noqa: S311 - repeatable on purpose
    ],
    ids=["one printer", "numbers", "readers", "kills"],
)
def test_nothing_breaks_when_programs_meet(tmp_path: Path, trial: Callable[[Path, Score], None], least: int) -> None:
    """No number is given twice, no entry is lost, and one run at a time works on a printer."""
    score = Score()
    trial(tmp_path, score)

    assert [] == score.broken
    assert least <= score.tried


def test_a_broken_trial_is_told() -> None:
    """What does not hold is counted and named."""
    score = Score()
    score.hold("this holds", held=True)
    score.hold("this does not", held=False)

    assert (2, ["this does not"]) == (score.tried, score.broken)
