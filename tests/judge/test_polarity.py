"""The polarity rule: its odds against an independent calculation, and what it refuses to conclude."""

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from commission.judge.polarity import (
    PREDICTIONS,
    PolarityFinding,
    TrialResult,
    contradictions,
    look,
    majority,
    marginal_log_likelihood,
    weigh,
)
from commission.vocabulary import Presence, Reading, SwitchBehaviour
from tests.judge.trials import counted, cycles, trial

ON, OFF, LOST = Reading.ACTIVE, Reading.INACTIVE, Reading.UNKNOWN


def exact_odds(clean_trials: int) -> Fraction:
    """Direct against no relation for clean trials, as a product of fractions: Π (9.5+i)/(10+i) · 2^n."""
    odds = Fraction(2) ** clean_trials
    for i in range(clean_trials):
        odds *= Fraction(19 + 2 * i, 20 + 2 * i)
    return odds


@pytest.mark.parametrize(("count", "published"), [(5, 710), (6, 2703)])
def test_clean_cycles_have_the_odds_of_the_plan(count: int, published: int) -> None:
    """Five clean cycles give 710 to 1 and six 2703 to 1, the figures stated in the plan."""
    assert published == round(weigh(cycles(count)).odds)


def test_odds_that_are_just_met_decide() -> None:
    """As many to one as asked for are enough; the next number above is not reached."""
    odds = weigh(cycles(6)).odds
    met, missed = (look(cycles(6), cycles_done=6, needed_odds=needed) for needed in (odds, math.nextafter(odds, 1e9)))

    assert (True, False) == (met.decided, missed.decided)


@pytest.mark.parametrize("count", [1, 3, 5, 6, 12, 20])
def test_clean_odds_are_exact(count: int) -> None:
    """Direct against no relation, for clean cycles, equals an exact product of fractions."""
    weights = weigh(cycles(count)).weights
    ratio = weights[SwitchBehaviour.DIRECT] / weights[SwitchBehaviour.NO_RELATION]

    assert float(exact_odds(2 * count)) == pytest.approx(ratio, rel=1e-10)


@pytest.mark.parametrize(
    ("count", "runner_up"),
    [(6, SwitchBehaviour.NO_RELATION), (12, SwitchBehaviour.NO_RELATION), (20, SwitchBehaviour.INVERTED)],
)
def test_far_beyond_the_last_look_the_runner_up_changes(count: int, runner_up: SwitchBehaviour) -> None:
    """Up to the last look no relation comes second; much later the opposite polarity with nothing but errors does."""
    assert runner_up is weigh(cycles(count)).runner_up


@pytest.mark.parametrize("errors", range(13))
def test_marginal_is_a_beta_binomial(errors: int) -> None:
    """The marginal likelihood of k errors times their arrangements is SciPy's beta-binomial probability."""
    expected = stats.betabinom(12, 0.5, 9.5).pmf(errors)

    assert expected == pytest.approx(math.comb(12, errors) * math.exp(marginal_log_likelihood(errors, 12)), rel=1e-9)


@pytest.mark.parametrize(("active_in", "active_out"), [(6, 0), (5, 0), (6, 1), (0, 6), (6, 6), (3, 3), (0, 0), (2, 5)])
def test_weights_agree_with_an_independent_calculation(active_in: int, active_out: int) -> None:
    """Every weight of six cycles equals what SciPy's beta-binomial and a fair coin give by themselves."""
    errors = {
        SwitchBehaviour.DIRECT: 6 - active_in + active_out,
        SwitchBehaviour.INVERTED: active_in + 6 - active_out,
        SwitchBehaviour.STUCK_ACTIVE: 12 - active_in - active_out,
        SwitchBehaviour.STUCK_INACTIVE: active_in + active_out,
    }
    likelihoods = {b: stats.betabinom(12, 0.5, 9.5).pmf(k) / math.comb(12, k) for b, k in errors.items()}
    likelihoods[SwitchBehaviour.NO_RELATION] = 0.5**12
    whole = sum(likelihoods.values())

    finding = weigh(counted(6, active_in, active_out))

    for behaviour, likelihood in likelihoods.items():
        assert likelihood / whole == pytest.approx(finding.weights[behaviour], rel=1e-9)
    best, second = sorted(likelihoods.values(), reverse=True)[:2]
    assert best / second == pytest.approx(finding.odds, rel=1e-9)
    assert min(errors.values()) == finding.errors


@pytest.mark.parametrize(
    ("active_in", "active_out", "behaviour"),
    [
        (6, 0, SwitchBehaviour.DIRECT),
        (0, 6, SwitchBehaviour.INVERTED),
        (6, 6, SwitchBehaviour.STUCK_ACTIVE),
        (0, 0, SwitchBehaviour.STUCK_INACTIVE),
    ],
)
def test_six_clean_cycles_decide(active_in: int, active_out: int, behaviour: SwitchBehaviour) -> None:
    """Six cycles without a contradiction decide for the explanation that predicted them."""
    finding = look(counted(6, active_in, active_out), cycles_done=6)

    assert (behaviour, True, 0) == (finding.behaviour, finding.decided, finding.errors)
    assert SwitchBehaviour.NO_RELATION is finding.runner_up


def test_five_clean_cycles_decide_nothing() -> None:
    """Before the sixth cycle every look is undecided, even at odds that are asked for."""
    finding = look(cycles(5), cycles_done=5, needed_odds=100)

    assert (SwitchBehaviour.UNDECIDED, False) == (finding.behaviour, finding.decided)
    assert SwitchBehaviour.DIRECT is finding.leading


def test_one_error_in_six_cycles_is_looked_at_again() -> None:
    """One contradiction in twelve trials leaves the sixth look open."""
    finding = look(counted(6, 5, 0), cycles_done=6)

    assert SwitchBehaviour.UNDECIDED is finding.behaviour
    assert 1 == finding.errors


def test_the_last_look_ends_in_no_relation() -> None:
    """An open question at the twelfth cycle becomes no relation shown."""
    finding = look(counted(12, 6, 6), cycles_done=12)

    assert (SwitchBehaviour.NO_RELATION, False) == (finding.behaviour, finding.decided)
    assert finding.sentence.startswith("No relation between filament and reading was shown")


def test_too_little_read_is_no_finding_at_the_last_look() -> None:
    """When most dwells could not be read, the last look stays undecided instead of naming no relation."""
    trials = cycles(5) + [TrialResult(presence, LOST) for _ in range(7) for presence in Presence]

    finding = look(trials, cycles_done=12)

    assert (SwitchBehaviour.UNDECIDED, 14) == (finding.behaviour, finding.unreadable)


def test_unreadable_dwells_agree_with_nobody() -> None:
    """ON dwell without a majority changes neither the odds nor the count of trials."""
    with_unread = weigh([*cycles(6), TrialResult(Presence.IN, LOST), TrialResult(Presence.OUT, LOST)])

    assert weigh(cycles(6)).odds == with_unread.odds
    assert (12, 2) == (with_unread.trials, with_unread.unreadable)


def test_half_a_cycle_may_not_be_looked_at() -> None:
    """ON look with more trials of one presence than whole cycles is refused."""
    with pytest.raises(ValueError, match="hold no 7 trials with filament in and 6 with filament out"):
        look([*cycles(6), trial(Presence.IN, active=True)], cycles_done=6)


@pytest.mark.parametrize(
    ("done", "least", "most", "needed"), [(13, 6, 12, 1000), (-1, 6, 12, 1000), (6, 7, 6, 1000), (6, 6, 12, 1)]
)
def test_a_senseless_look_is_refused(done: int, least: int, most: int, needed: float) -> None:
    """Looks beyond the last one, and rules that contradict themselves, are errors."""
    with pytest.raises(ValueError, match=r"look|Look"):
        look([], cycles_done=done, least=least, most=most, needed_odds=needed)


def test_level_explanations_name_nobody() -> None:
    """Trials of one presence alone cannot tell a right switch from a stuck one."""
    finding = weigh([trial(Presence.IN, active=True)] * 4)

    assert SwitchBehaviour.UNDECIDED is finding.behaviour
    assert pytest.approx(1) == finding.odds


def test_nothing_read_yet_is_said_so() -> None:
    """Without a trial the sentence names no explanation."""
    assert "Not decided yet: no trial has been read." == weigh([]).sentence


def test_the_sentence_gives_odds_and_counts() -> None:
    """ON decided finding says its odds, the runner-up and the contradictions."""
    expected = (
        "The switch is direct: 2703 to 1 against the next explanation (no relation shown); "
        "12 in/out trials, none against (leave-it prompts not counted)."
    )

    assert expected == look(cycles(6), cycles_done=6).sentence


@pytest.mark.parametrize(
    ("readings", "expected"),
    [
        ([ON] * 11 + [OFF] * 10, ON),
        ([ON] * 10 + [OFF] * 11, OFF),
        ([ON] * 10 + [OFF] * 9 + [LOST] * 2, LOST),
        ([ON, OFF], LOST),
        ([LOST] * 21, LOST),
        ([], LOST),
    ],
)
def test_majority_takes_more_than_half_of_all(readings: list[Reading], expected: Reading) -> None:
    """ON dwell reads what more than half of all its readings show, lost ones included in the whole."""
    assert expected is majority(readings)


def test_findings_check_themselves() -> None:
    """ON finding with impossible counts, odds or weights cannot be made."""
    good = weigh(cycles(6))
    for changes in ({"errors": 13}, {"odds": 0.5}, {"weights": {SwitchBehaviour.DIRECT: 0.5}}, {"odds": math.nan}):
        with pytest.raises(ValueError, match=r"number of trials|odds|add up"):
            PolarityFinding(**{**good.__dict__, **changes})


def test_a_fair_coin_is_named_a_polarity_less_than_once_in_two_hundred() -> None:
    """Over all looks, exactly enumerated, an unrelated reading gets a polarity with a probability below 0.5 %."""
    alive = {(0, 0): 1.0}
    wrong = 0.0
    for done in range(1, 13):
        after: dict[tuple[int, int], float] = {}
        for (active_in, active_out), share in alive.items():
            for more_in in (0, 1):
                for more_out in (0, 1):
                    key = (active_in + more_in, active_out + more_out)
                    after[key] = after.get(key, 0.0) + share / 4
        alive = {}
        for (active_in, active_out), share in after.items():
            found = look(counted(done, active_in, active_out), cycles_done=done)
            if not found.decided:
                alive[active_in, active_out] = share
            elif found.behaviour in {SwitchBehaviour.DIRECT, SwitchBehaviour.INVERTED}:
                wrong += share

    # six clean cycles alone come up with probability 2 / 2^12; the odds of 1000 bound the whole by 2 / 1000
    assert 2 / 4096 <= wrong <= 0.002


@settings(deadline=None, max_examples=100)
@given(st.lists(st.tuples(st.sampled_from(Presence), st.sampled_from(Reading)), max_size=40))
def test_turning_every_reading_round_turns_the_finding_round(raw: list[tuple[Presence, Reading]]) -> None:
    """With active and inactive exchanged, direct and inverted exchange their weights, and so do the stuck ones."""
    turned = {ON: OFF, OFF: ON, LOST: LOST}
    one = weigh([TrialResult(p, r) for p, r in raw]).weights
    other = weigh([TrialResult(p, turned[r]) for p, r in raw]).weights

    assert one[SwitchBehaviour.DIRECT] == pytest.approx(other[SwitchBehaviour.INVERTED])
    assert one[SwitchBehaviour.STUCK_ACTIVE] == pytest.approx(other[SwitchBehaviour.STUCK_INACTIVE])
    assert one[SwitchBehaviour.NO_RELATION] == pytest.approx(other[SwitchBehaviour.NO_RELATION])


@settings(deadline=None, max_examples=50)
@given(st.lists(st.tuples(st.sampled_from(Presence), st.sampled_from((ON, OFF))), max_size=40))
def test_opposite_explanations_share_the_trials_between_them(raw: list[tuple[Presence, Reading]]) -> None:
    """Every readable trial contradicts exactly one of direct and inverted."""
    trials = [TrialResult(p, r) for p, r in raw]

    wrong = [contradictions(trials, b) for b in (SwitchBehaviour.DIRECT, SwitchBehaviour.INVERTED)]

    assert len(trials) == sum(wrong)
    assert 4 == len(PREDICTIONS)


def test_the_likeliest_leads_by_however_little() -> None:
    """Three in that read active and one out of three: 1.7 to 1, which names it and decides nothing."""
    finding = weigh(counted(3, 3, 1))

    assert (SwitchBehaviour.DIRECT, False) == (finding.behaviour, finding.decided)
    assert 1 < finding.odds < 2


def test_a_long_series_is_weighed_like_any_other() -> None:
    """Six hundred cycles of a coin: no number is small enough for how likely each is, and their shares are told."""
    finding = weigh(counted(600, 300, 300))

    assert SwitchBehaviour.NO_RELATION is finding.leading
    assert finding.weights[SwitchBehaviour.NO_RELATION] > 0.99


def test_a_rule_at_its_limits_looks() -> None:
    """One cycle, odds just above 1 and a look before the first cycle are in order."""
    one = look(cycles(1), cycles_done=1, least=1, most=1, needed_odds=1.5)

    assert (True, SwitchBehaviour.DIRECT) == (one.decided, one.behaviour)
    assert SwitchBehaviour.UNDECIDED is look([], cycles_done=0).behaviour
