"""Several processes on one book, in small; `scripts/campaigns/concurrency.py` does it with two dozen."""

import random
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from scripts.campaigns.concurrency import Score, kills, numbers, one_printer, readers
from tests.support.sweeps import a_part

TRIALS: Mapping[str, tuple[Callable[[Path, Score], None], int]] = {
    "one printer": (lambda folder, score: one_printer(folder, 3, score), 7),
    "numbers": (lambda folder, score: numbers(folder, 3, 4, score), 6),
    "readers": (lambda folder, score: readers(folder, 2, 40, score), 8),
    "kills": (lambda folder, score: kills(folder, 2, random.Random(1), score), 4),  # noqa: S311 - repeatable on purpose
}
"""Each trial, and how much of it is counted at least."""


@pytest.mark.swept
@pytest.mark.parametrize("name", a_part(list(TRIALS), one_in=2))
def test_nothing_breaks_when_programs_meet(tmp_path: Path, name: str) -> None:
    """No number is given twice, no entry is lost, and one run at a time works on a printer."""
    trial, least = TRIALS[name]
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
