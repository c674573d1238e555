"""At the ends of the scale: nothing was measured, or what was asked for makes no sense; no verdict comes of it."""

import math
from dataclasses import replace
from typing import Any

import pytest

from commission.judge.acceptance import accept, pull_criterion
from commission.judge.condition import Measured, comparable, misread_criteria, pause_criterion, settle_criterion
from commission.judge.distributions import falling_root, poisson_cdf
from commission.judge.evidence import PullResult, WiggleResult, wiggled
from commission.judge.expectation import Expectation, Sign
from commission.judge.explanations import Candidate, Explanations, Observation, can_follow
from commission.judge.exposure import Watched
from commission.judge.failsafe import UnpluggedResult, far_end_sentence
from commission.judge.next_test import Rules
from commission.judge.nuisance import (
    Around,
    Exposed,
    bound_per_hour,
    not_shown_by_a_run,
    not_shown_yet,
    rate_bounds,
)
from commission.judge.pause_verdict import PauseSeen, PauseSide, judge_pause
from commission.judge.plan import Plan
from commission.judge.polarity import MOST_CYCLES, TrialResult, look, weigh
from commission.judge.power import PowerSeen
from commission.judge.stability import Sample, shortest_glitch_s
from commission.judge.weighing import posterior
from commission.vocabulary import Presence, PullConclusion, Reading, Verdict
from tests.judge.test_acceptance import CLEAN

IN, OUT, ON, OFF = Presence.IN, Presence.OUT, Reading.ACTIVE, Reading.INACTIVE
NOTHING = Measured("2031-03-14")


def test_an_acceptance_without_dwells_is_not_judged() -> None:
    """No dwell, and so no unwanted change in one, is no pass."""
    evidence = replace(CLEAN, in_trials=0, out_trials=0, leave_it_trials=0)
    (dwells,) = [each for each in accept(Plan(seed=1), evidence).criteria if each.observed == "No dwell was taken."]

    assert Verdict.NOT_JUDGED is dwells.verdict


def test_a_pull_that_was_not_looked_at_is_conditional_at_best() -> None:
    """Reading alone cannot tell; the proof itself passes."""
    proven = PullResult(PullConclusion.PROVEN, "The pull is proven.")

    assert Verdict.PASS is not pull_criterion(None).verdict
    assert (True, Verdict.PASS) == (proven.proven, pull_criterion(proven).verdict)


def test_a_check_without_measurements_judges_nothing() -> None:
    """Misreads, settle time and time to pause are not judged, and the checks before are not pooled with it."""
    history = [Measured("2031-02-14", in_trials=6, out_trials=6)]
    pooled, counts = comparable(history, NOTHING)

    assert ([], 0, 0, 0) == (pooled, counts.failures, counts.trials, counts.checks)
    assert {Verdict.NOT_JUDGED} == {each.verdict for each in misread_criteria(history, NOTHING)}
    assert "No move came to rest in this check." == settle_criterion(history, NOTHING).observed
    assert Verdict.NOT_JUDGED is settle_criterion(history, NOTHING).verdict


def test_a_first_pause_has_nothing_to_be_compared_with() -> None:
    """It is told with its time, and not judged."""
    found = pause_criterion([NOTHING], Measured("now", time_to_pause_s=4.0))

    assert (Verdict.NOT_JUDGED, True) == (found.verdict, found.no_record)
    assert "nothing on record to compare with" in found.observed


@pytest.mark.parametrize("mean", [-1.0, math.inf, math.nan])
def test_a_poisson_mean_is_finite_and_not_negative(mean: float) -> None:
    """Any other is refused."""
    with pytest.raises(ValueError, match="finite number from 0 up"):
        poisson_cdf(1, mean)


def test_no_events_come_of_a_mean_of_nothing() -> None:
    """P(N <= 0) is 1 for a mean of 0, and below no event there is none. By definition of the distribution."""
    assert (0.0, 1.0) == (poisson_cdf(-1, 2.0), poisson_cdf(0, 0.0))


def test_a_root_is_found_to_the_last_bit() -> None:
    """Halved until no number lies between; one that is not enclosed is refused."""
    assert 1.0 == pytest.approx(falling_root(lambda x: 1.0 - x, 0.0, 3.0), abs=1e-15)
    assert 0 <= falling_root(lambda x: 1e-300 - x, 0.0, 1e300) < 1e300 / 2**100  # no number of halvings is too many
    with pytest.raises(ArithmeticError, match="No crossing"):
        falling_root(lambda x: 1.0 - x, 2.0, 3.0)


def test_a_wiggle_without_readings_watched_nothing() -> None:
    """No exposure, no rate, no glitch that could have been seen."""
    seen = wiggled([], 60.0)

    assert (0, 0.0, True) == (seen.misreads, seen.watched.per_s, seen.clean)
    assert seen == WiggleResult(seen.watched)
    assert not any("glitch" in sentence for sentence in Watched(2, 60.0, 0.2, 0, 0.2, 0).sentences())


def test_a_wiggle_counts_filament_in_that_reads_out() -> None:
    """Inactive readings are misreads there."""
    samples = [Sample(0.1 * n, reading) for n, reading in enumerate([ON, OFF, ON, OFF, ON])]

    assert (2, False) == (wiggled(samples, 0.4).misreads, wiggled(samples, 0.4).clean)


def test_a_far_end_that_reads_in_at_both_ends_is_the_board() -> None:
    """An input that rests at in at the board needs no cable to hold it there."""
    rests_in = UnpluggedResult((Reading.ACTIVE,) * 9, watched=True)

    assert "as it did unplugged at the board" in far_end_sentence(rests_in, [rests_in])
    assert "the cable holds it" in far_end_sentence(rests_in)


def test_rules_that_ask_for_ever_are_refused() -> None:
    """Odds of one to one decide nothing."""
    with pytest.raises(ValueError, match="Odds above 1"):
        Rules(needed_odds=1.0)


def test_readings_can_follow_where_no_two_tests_tell() -> None:
    """Without a pair of tests whose difference shows it, no candidate is ruled out."""
    candidate = Candidate({}, 1.0)

    assert can_follow(Explanations({"any": candidate}), candidate)


def test_a_weight_of_nothing_is_no_diagnosis() -> None:
    """Where every candidate weighs nothing or beyond all numbers, it is not judged."""
    restarts = {"x": Expectation(Sign.POSITIVE)}
    for candidate, seen in (
        (Candidate({}, math.inf), []),
        (Candidate(restarts, 5e-324), [Observation("x", 0, 21, restarted=True)]),
    ):
        with pytest.raises(ValueError, match="Nothing weighed here explains"):
            posterior(Explanations({"one": candidate}), seen)


def test_nothing_watched_gives_no_bound() -> None:
    """What was not watched is not shown, and what was watched for long enough needs no more."""
    night = rate_bounds([Exposed(Around.AT_REST, 8 * 3600.0, 0)])

    assert () == rate_bounds([Exposed(Around.AT_REST, 0.0, 0)])
    assert None is bound_per_hour(0.0, 0)
    assert "nothing was watched at rest" in not_shown_yet(())
    assert "" == not_shown_yet(night)


def test_a_pause_without_a_word_is_a_pause() -> None:
    """The build says nothing while it waits; that is told, and the board stopped."""
    judged = judge_pause(
        PauseSeen(stopped=True, silent=True), leftover_mm=None, block_mm=1.0, speed_mm_s=5.0, largest_gap_s=0.2
    )

    assert PauseSide.BOARD is judged.side
    assert any("without a word" in said for said in judged.reasons)


def test_a_plan_that_cannot_be_carried_out_is_refused() -> None:
    """With the demand it breaks."""
    with pytest.raises(ValueError, match="cannot be carried out"):
        Plan(seed=1, confidence=2.0)


@pytest.mark.parametrize(
    ("wanted", "beyond"),
    [
        ({"readings_per_dwell": 5}, {"readings_per_dwell": 3}),
        ({"readings_per_dwell": 7}, {"readings_per_dwell": 6}),
        ({"cycles": 100}, {"cycles": 101}),
        ({"countdown_s": 0.0}, {"countdown_s": -0.1}),
        ({"countdown_s": 60.0}, {"countdown_s": 60.1}),
        ({"dwell_s": 0.5}, {"dwell_s": 0.0}),
        ({"dwell_s": 60.0}, {"dwell_s": 60.1}),
        ({"rest_s": 0.5}, {"rest_s": 0.0}),
        ({"rest_s": 60.0}, {"rest_s": 60.1}),
        ({"wiggle_s": 0.0, "wiggle_readings": 0}, {"wiggle_readings": -1}),
        ({"wiggle_s": 3600.0}, {"wiggle_s": 3601.0}),
        ({"power_ups": 1}, {"power_ups": 0}),
        ({"power_ups": 10}, {"power_ups": 11}),
        ({"confidence": 0.5}, {"confidence": 0.49}),
        ({"confidence": 0.99}, {"confidence": 1.0}),
        ({"needed_odds": 1.5}, {"needed_odds": 1.0}),
    ],
)
def test_a_plan_at_a_limit_is_carried_out(wanted: dict[str, Any], beyond: dict[str, Any]) -> None:
    """The smallest and the largest of each are plans; what lies beyond them is none."""
    plan = Plan(seed=1, **wanted)

    assert wanted == {name: getattr(plan, name) for name in wanted}
    with pytest.raises(ValueError, match="cannot be carried out"):
        Plan(seed=1, **beyond)


def test_a_beat_is_the_time_between_two_readings() -> None:
    """21 readings over 2 s are a tenth of a second apart."""
    assert 0.1 == pytest.approx(Plan(seed=1, rest_s=2.0, readings_per_dwell=21).rest_beat_s)


def test_the_rules_name_their_limits() -> None:
    """As they are where nobody asks for others; a wiggle aims at ten readings a second, and a look at rest as well."""
    plan = Plan(seed=1)
    rules = " ".join(plan.rules())

    for limit in ("21 readings over 1.2 s", "by 1000 to 1", "6 to 12;", "at most 5 times in a row", "and 44 times in"):
        assert limit in rules
    assert (10, 0.1) == (plan.wiggle_readings / plan.wiggle_s, plan.rest_beat_s)


def test_a_countdown_says_whose_pace_it_follows() -> None:
    """A fixed one names its seconds, the other one the person and the longest it takes."""
    assert "follows your pace" in Plan(seed=1, own_pace=True).countdown
    assert "pace" not in Plan(seed=1).countdown


def test_an_installation_says_what_it_cannot_show() -> None:
    """With the command that shows it overnight, for this printer and port."""
    said = not_shown_by_a_run("bench-3", "/dev/ttyUSB0")

    assert "commission soak bench-3 --port /dev/ttyUSB0" in said


def test_what_could_not_be_read_is_told_beside_the_odds() -> None:
    """Trials without a reading count for neither side; at the last look no relation is a finding of its own."""
    lost = TrialResult(Presence.IN, Reading.UNKNOWN)
    chance = [TrialResult(presence, reading) for presence in (IN, OUT) for reading in (ON, OFF) * 6]
    found = look([*chance, lost], cycles_done=MOST_CYCLES)

    assert "; 1 could not be read and count for nothing" in found.sentence
    assert found.sentence.startswith("No relation between filament and reading was shown by the last look:")


def test_too_few_trials_name_the_likeliest_so_far() -> None:
    """Until a legal look decides, the likeliest explanation is no finding."""
    found = weigh([TrialResult(IN, ON), TrialResult(OUT, OFF)])

    assert found.sentence.startswith(f"Not decided yet: the likeliest so far is {found.leading.value}")


def test_no_trials_weigh_nothing() -> None:
    """The sentence says that nothing has been read; what could not be read is told apart."""
    assert "Not decided yet: no trial has been read." == weigh([]).sentence


def test_a_restart_is_seen_or_taken_on_the_word() -> None:
    """Only the operator's word is no sight of one."""
    assert {PowerSeen.WORD} == {each for each in PowerSeen if not each.restart}
    assert all(each.sentence for each in PowerSeen)


@pytest.mark.parametrize(("gaps", "probability", "seen_s"), [([0.1, 0.1], 1.0, 0.1), ([0.1, 0.3], 1.0, 0.3)])
def test_a_glitch_as_long_as_the_gap_is_surely_seen(gaps: list[float], probability: float, seen_s: float) -> None:
    """At a probability of 1 it is the largest gap. Worked out by hand."""
    assert seen_s == pytest.approx(shortest_glitch_s(gaps, probability))
