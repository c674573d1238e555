"""The trials of both kinds as a check judges them: one blemish of a kind is no pass until its plan is carried out."""

import pytest

from commission.judge.double_sampling import FIRST_SERIES
from commission.judge.misreads import Trials, kind_judged, misreads_judged
from commission.vocabulary import Verdict

CLEAN, SHORT = (22, 0, 0), (6, 0, 0)
"""Trials that stand, those misread, and those set aside before their dwell."""


@pytest.mark.parametrize(
    ("filament_in", "filament_out", "verdict"),
    [
        (CLEAN, CLEAN, Verdict.PASS),
        (SHORT, SHORT, Verdict.PASS),
        (SHORT, CLEAN, Verdict.PASS),
        ((5, 0, 0), CLEAN, Verdict.NOT_JUDGED),
        ((0, 0, 0), CLEAN, Verdict.NOT_JUDGED),
        ((22, 1, 0), CLEAN, Verdict.CONDITIONAL),
        (CLEAN, (37, 1, 0), Verdict.CONDITIONAL),
        (CLEAN, (21, 0, 1), Verdict.CONDITIONAL),
        (SHORT, (38, 1, 0), Verdict.CONDITIONAL),
        (SHORT, (37, 0, 1), Verdict.CONDITIONAL),
        ((38, 1, 0), (37, 0, 1), Verdict.PASS),
        ((37, 1, 1), CLEAN, Verdict.NOT_JUDGED),
        ((38, 2, 0), CLEAN, Verdict.FAIL),
        ((38, 2, 0), (0, 0, 0), Verdict.FAIL),
    ],
)
def test_a_blemish_takes_what_a_pass_takes(
    filament_in: tuple[int, int, int], filament_out: tuple[int, int, int], verdict: Verdict
) -> None:
    """Six clean trials of a kind are enough for a check; once any was misread or set aside, 22 or 38 are."""
    assert verdict is misreads_judged(Trials(FIRST_SERIES, filament_in, filament_out))[0]


@pytest.mark.parametrize(
    ("counts", "said"),
    [
        (CLEAN, "Late: 0 of 22 trials. Whichever way the plan is passed,"),
        ((37, 0, 1), "Late: 0 of 37 trials. 1 trial set aside before its dwell, or not finished. Whichever way"),
        ((22, 1, 0), "16 more of this kind without a misread make a pass."),
        ((5, 0, 0), "Fewer than 6 trials decide nothing."),
        ((21, 1, 0), "Fewer than 22 trials decide nothing then."),
        ((22, 1, 1), "1 trial set aside before its dwell, or not finished. Only one of a kind may be misread or set"),
        ((22, 2, 0), "The second misread of a kind ends the series."),
    ],
)
def test_a_kind_says_what_it_lacks(counts: tuple[int, int, int], said: str) -> None:
    """The counts, what was set aside, and what would make a pass of it."""
    assert said in kind_judged(FIRST_SERIES, "Late", counts)[1]
