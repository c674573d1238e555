"""The weighing of candidates, against sums done by hand and against SciPy; the choice of the next test."""

from math import log2

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from commission.judge.diagnosis import (
    BenchTest,
    Observation,
    Table,
    classes,
    diagnose,
    posterior,
    separating,
)
from commission.judge.expectation import Expectation, Held, Noise, Sign, outcomes
from commission.judge.next_test import Rules, choose, gain_bits, next_power_up, restart_chance

POSITIVE, NEGATIVE, FLOATING, RESTART = (Expectation(sign) for sign in Sign)
NOISE = Noise(reading=0.02, restart_missed=0.05, restart_by_chance=0.002)

# an invented bench of three candidates: "far" and "near" are told apart by the pull of a plug only
TABLE: Table = {
    "fine": {"in": POSITIVE, "out": NEGATIVE, "pulled": NEGATIVE},
    "far": {"in": NEGATIVE, "out": NEGATIVE, "pulled": NEGATIVE},
    "near": {"in": NEGATIVE, "out": NEGATIVE, "pulled": POSITIVE},
}
EVEN = {"fine": 1.0, "far": 1.0, "near": 1.0}
TESTS = [BenchTest("in"), BenchTest("out"), BenchTest("pulled", own_power_up=True)]


def seen(test: str, positives: int, power_up: int = 0, *, readings: int = 5, restarted: bool = False) -> Observation:
    """An observation in few words."""
    return Observation(test, positives, readings, restarted, power_up)


@pytest.mark.parametrize("readings", [1, 5, 21])
@pytest.mark.parametrize(("expected", "share"), [(POSITIVE, 0.98), (NEGATIVE, 0.02)])
def test_a_steady_reading_is_binomial_in_its_noise(expected: Expectation, share: float, readings: int) -> None:
    """The counts under a steady prediction are SciPy's binomial, less the chance of a restart."""
    found = outcomes(expected, Held.WANDERS, readings, NOISE)

    assert list(0.998 * stats.binom.pmf(range(readings + 1), readings, share)) == pytest.approx(list(found[:-1]))
    assert 0.002 == found[-1]


@pytest.mark.parametrize("readings", [1, 5, 21])
def test_a_wandering_input_is_beta_binomial(readings: int) -> None:
    """The counts of an input that wanders are SciPy's beta-binomial with both parameters 1/2."""
    found = outcomes(FLOATING, Held.WANDERS, readings, NOISE)

    wanted = 0.998 * stats.betabinom.pmf(range(readings + 1), readings, 0.5, 0.5)
    assert list(wanted) == pytest.approx(list(found[:-1]))


@given(
    first=st.sampled_from(Sign),
    second=st.none() | st.sampled_from(Sign),
    held=st.sampled_from(Held),
    readings=st.integers(1, 30),
)
@settings(deadline=None, max_examples=80)
def test_the_outcomes_of_every_expectation_sum_to_one(
    first: Sign, second: Sign | None, held: Held, readings: int
) -> None:
    """Whatever is expected, the outcomes have a probability each and sum to one."""
    found = outcomes(Expectation(first, second), held, readings, NOISE)

    assert readings + 2 == len(found)
    assert 1.0 == pytest.approx(sum(found))
    assert min(found) >= 0


def test_the_weights_are_priors_times_likelihood() -> None:
    """Three candidates after five inactive readings with filament in: the sum done by hand with Bayes' rule."""
    found = posterior(TABLE, {"fine": 2.0, "far": 1.0, "near": 1.0}, [seen("in", 0)], noise=NOISE)

    fine, rest = 2 * 0.02**5, 0.98**5
    assert fine / (fine + 2 * rest) == pytest.approx(found["fine"])
    assert rest / (fine + 2 * rest) == pytest.approx(found["far"])


def test_an_input_that_sticks_does_not_count_as_agreement() -> None:
    """Two tests in one power-up that agree weigh less for a driven input than in two power-ups."""
    table: Table = {"driven": {"a": POSITIVE, "b": POSITIVE}, "floats": {"a": FLOATING, "b": FLOATING}}
    priors = {"driven": 1.0, "floats": 1.0}
    together = posterior(table, priors, [seen("a", 5), seen("b", 5)], noise=NOISE)
    apart = posterior(table, priors, [seen("a", 5), seen("b", 5, 1)], noise=NOISE)

    stuck, wanders, ends = 0.98**5, stats.betabinom.pmf(5, 5, 0.5, 0.5), 0.02**5
    one = [0.5 * wanders**n + 0.25 * stuck**n + 0.25 * ends**n for n in (1, 2)]
    assert 1 / (1 + one[1] / stuck**2) == pytest.approx(together["driven"])
    assert 1 / (1 + one[0] ** 2 / stuck**2) == pytest.approx(apart["driven"])
    assert apart["driven"] > together["driven"]


def test_a_restart_speaks_for_the_candidate_that_shorts_the_supply() -> None:
    """One restart turns a small prior into a lead, and the counts of that test do not matter."""
    table: Table = {"sound": {"in": POSITIVE}, "shorts": {"in": RESTART}}
    found = posterior(table, {"sound": 20.0, "shorts": 1.0}, [seen("in", 0, restarted=True)], noise=NOISE)

    assert 0.95 / (0.95 + 20 * 0.002) == pytest.approx(found["shorts"])


def test_the_order_of_the_observations_does_not_matter() -> None:
    """The same observations in another order give the same weights."""
    some = [seen("in", 0), seen("out", 1), seen("pulled", 4, 1)]

    assert posterior(TABLE, EVEN, some) == pytest.approx(posterior(TABLE, EVEN, some[::-1]))


def test_nothing_seen_leaves_the_priors() -> None:
    """Without an observation the weights are the priors."""
    assert {"fine": 0.5, "far": 0.3, "near": 0.2} == pytest.approx(
        posterior(TABLE, {"fine": 5.0, "far": 3.0, "near": 2.0}, [])
    )


def test_candidates_that_no_test_at_hand_separates_are_one_class() -> None:
    """Without the pulled plug two candidates are one class; with it they are two, and it is named as what separates."""
    assert [("fine",), ("far", "near")] == classes(TABLE, ["in", "out"])
    assert [("fine",), ("far",), ("near",)] == classes(TABLE, ["in", "out", "pulled"])
    assert ["pulled"] == separating(TABLE, ["far", "near"], ["in", "out", "pulled"])


def test_a_class_leads_by_its_members_together() -> None:
    """The odds are the first class against the second, members added up."""
    found = diagnose(TABLE, EVEN, [seen("in", 0)], ["in", "out"])

    assert ("far", "near") == found.groups[0].members
    assert found.groups[0].weight / found.groups[1].weight == pytest.approx(found.odds)
    assert found.decided


@pytest.mark.parametrize(("lead", "decided"), [(20.01, True), (19.99, False)])
def test_twenty_to_one_decides(lead: float, decided: bool) -> None:
    """A lead of 20 to 1 ends the asking, one just below does not; common practice here, no source."""
    odd = {"fine": lead, "far": 0.5, "near": 0.5}
    told = {**TABLE, "near": TABLE["far"]}

    assert decided == (choose(told, odd, TESTS, []).test is None)


def test_a_test_takes_five_readings_unless_it_says_otherwise() -> None:
    """Five readings a test, as the priors of the simulation assume."""
    assert 5 == BenchTest("in").readings


def test_one_class_alone_is_decided_without_a_test() -> None:
    """When nothing at hand separates the candidates there is one class, and no lead to wait for."""
    found = choose(TABLE, EVEN, [BenchTest("out")], [])

    assert 1 == len(found.diagnosis.groups)
    assert found.test is None


def test_the_gain_is_the_mutual_information() -> None:
    """A test that splits two even candidates without noise tells one bit; one that does not split tells none."""
    table: Table = {"a": {"x": POSITIVE, "y": POSITIVE}, "b": {"x": NEGATIVE, "y": POSITIVE}}
    noise = Noise(1e-9, 1e-9, 1e-9)
    even = {"a": 0.5, "b": 0.5}
    found = diagnose(table, even, [], ["x", "y"])

    assert 1.0 == pytest.approx(gain_bits(table, found, BenchTest("x"), noise=noise), abs=1e-6)
    assert 0.0 == pytest.approx(gain_bits(table, found, BenchTest("y"), noise=noise), abs=1e-9)


def test_the_gain_of_one_noisy_reading_is_that_of_a_noisy_channel() -> None:
    """One reading with noise e tells two even candidates apart by 1 - H(e) bits: Shannon's binary symmetric channel."""
    table: Table = {"a": {"x": POSITIVE}, "b": {"x": NEGATIVE}}
    noise = Noise(0.11, 1e-12, 1e-12)
    even = {"a": 0.5, "b": 0.5}
    found = gain_bits(table, diagnose(table, even, [], ["x"]), BenchTest("x", readings=1), noise=noise)

    assert 1 + 0.11 * log2(0.11) + 0.89 * log2(0.89) == pytest.approx(found, abs=1e-6)


def test_a_test_within_a_class_tells_nothing() -> None:
    """What separates only candidates of one class is worth nothing to the class."""
    found = diagnose(TABLE, EVEN, [], ["in", "out"])

    assert 0.0 == pytest.approx(gain_bits(TABLE, found, BenchTest("out")), abs=1e-9)


def test_the_test_that_tells_most_is_asked_first() -> None:
    """Of the three tests, the one that never differs is never asked; it stops when one class leads by 20 to 1."""
    observations: list[Observation] = []
    asked = []
    while (choice := choose(TABLE, EVEN, TESTS, observations)).test is not None:
        asked.append(choice.test.name)
        number = next_power_up(TESTS, observations, choice.test)
        observations.append(seen(choice.test.name, 5 if choice.test.name == "pulled" else 0, number))

    assert "out" not in asked
    assert ("near",) == choice.diagnosis.groups[0].members
    assert choice.diagnosis.decided
    assert "leads" in choice.reason


def test_a_test_that_may_restart_the_board_is_left_out() -> None:
    """Once a restart makes a short likely, the tests that would repeat it are unsafe, and the meter is asked for."""
    table: Table = {
        "sound": {"in": POSITIVE, "meter": NEGATIVE},
        "shorts": {"in": RESTART, "meter": POSITIVE},
    }
    tests = [BenchTest("in"), BenchTest("meter", readings=1, own_power_up=True, unpowered=True)]
    priors = {"sound": 100.0, "shorts": 1.0}
    found = choose(table, priors, tests, [seen("in", 0, restarted=True)], rules=Rules(needed_odds=1000))

    assert ("in",) == found.unsafe
    assert found.test is not None
    assert "meter" == found.test.name
    assert 0.0 == restart_chance(table, {"sound": 0.0, "shorts": 1.0}, tests[1])


def test_candidates_only_an_unsafe_test_could_separate_are_one_class() -> None:
    """What could be told apart only by shorting the supply again is shown as one class."""
    table: Table = {
        "sound": {"in": POSITIVE, "hand": POSITIVE},
        "shorts at the lever": {"in": RESTART, "hand": RESTART},
        "shorts in the cable": {"in": RESTART, "hand": NEGATIVE},
    }
    priors = dict.fromkeys(table, 1.0)
    found = choose(table, priors, [BenchTest("in"), BenchTest("hand")], [seen("in", 0, restarted=True)])

    assert ("hand", "in") == tuple(sorted(found.unsafe))
    assert ("shorts at the lever", "shorts in the cable") == found.diagnosis.groups[0].members


def test_a_test_is_not_asked_for_ever() -> None:
    """A test is asked at most three times, and then the reason to stop is that nothing separates further."""
    table: Table = {"a": {"x": Expectation(Sign.POSITIVE, Sign.NEGATIVE)}, "b": {"x": FLOATING}}
    observations: list[Observation] = []
    while (choice := choose(table, {"a": 1.0, "b": 1.0}, [BenchTest("x", own_power_up=True)], observations)).test:
        observations.append(seen("x", 3, len(observations)))

    assert len(observations) <= 3
    assert not choice.diagnosis.decided
    assert "separates further" in choice.reason


@pytest.mark.parametrize(
    ("before", "test", "number"),
    [([], "in", 0), ([("in", 0)], "out", 0), ([("in", 0)], "pulled", 1), ([("pulled", 1)], "in", 2)],
)
def test_a_plug_is_pulled_in_a_power_up_of_its_own(before: list[tuple[str, int]], test: str, number: int) -> None:
    """Power goes off before and after a test that works on the plugs; the others share a power-up."""
    observations = [seen(name, 0, power_up) for name, power_up in before]
    wanted = next(one for one in TESTS if one.name == test)

    assert number == next_power_up(TESTS, observations, wanted)


@pytest.mark.parametrize(("positives", "readings"), [(-1, 5), (6, 5), (0, 0)])
def test_an_impossible_observation_is_refused(positives: int, readings: int) -> None:
    """More readings than were taken, or none at all, is no observation."""
    with pytest.raises(ValueError, match="reading"):
        Observation("in", positives, readings)


def test_what_cannot_be_weighed_is_refused() -> None:
    """A candidate without a prior, a test nobody predicts, and no candidate at all are refused by name."""
    with pytest.raises(ValueError, match="'near' has no prior"):
        posterior(TABLE, {"fine": 1.0, "far": 1.0, "near": 0.0}, [])
    with pytest.raises(ValueError, match="'shaken'"):
        posterior(TABLE, EVEN, [seen("shaken", 1)])
    with pytest.raises(ValueError, match="no candidate"):
        posterior({}, {}, [])


@pytest.mark.parametrize("noise", [(0.0, 0.1, 0.1), (0.5, 0.1, 0.1), (0.1, 0.1, 0.0)])
def test_an_error_term_of_zero_is_refused(noise: tuple[float, float, float]) -> None:
    """Without any error term one odd reading would decide everything, so it is refused."""
    with pytest.raises(ValueError, match="between 0 and"):
        Noise(*noise)
