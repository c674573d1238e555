"""The weighing of candidates: against SciPy, sums done by hand, and a weighing that shares no arithmetic with it."""

from dataclasses import replace
from itertools import combinations, pairwise
from math import inf, log2

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from commission.judge.diagnosis import BenchTest, Diagnosis, Group, classes, diagnose, ranked, separating
from commission.judge.expectation import (
    DEFAULT_ERRORS,
    DEPARTURES,
    LASTING_DEPARTURES,
    LEANINGS,
    NOTHING_DEPARTS,
    READING_ERRORS,
    By,
    Count,
    Departing,
    Errors,
    Expectation,
    Held,
    Sign,
    chance,
    whole,
)
from commission.judge.explanations import Candidate, Explanations, Hand, Observation, followed
from commission.judge.next_test import Rules, choose, gain_bits, next_power_up, restarting
from commission.judge.weighing import CONFIDENT, posterior
from tests.judge import reference_weighing

POSITIVE, NEGATIVE, FLOATING, RESTART = (Expectation(sign) for sign in Sign)
STICKS = Expectation(Sign.NEGATIVE, Sign.POSITIVE, lasting=True)
LOOSE = Expectation(Sign.POSITIVE, Sign.NEGATIVE)
LOOKED_YES, LOOKED_NO = (Expectation(sign, by=By.LOOKED) for sign in (Sign.POSITIVE, Sign.NEGATIVE))

# an invented bench: "far" and "near" are told apart by the pull of a plug only
ROWS = {
    "fine": {"in": POSITIVE, "out": NEGATIVE, "pulled": NEGATIVE},
    "far": {"in": NEGATIVE, "out": NEGATIVE, "pulled": NEGATIVE},
    "near": {"in": NEGATIVE, "out": NEGATIVE, "pulled": POSITIVE},
}
EVEN = Explanations({name: Candidate(row, 1.0) for name, row in ROWS.items()})
TESTS = [BenchTest("in"), BenchTest("out"), BenchTest("pulled", own_power_up=True, cost_s=120)]

# and one with a person at it, who may slip, and a lever that may stick
PERSON = Explanations(
    {
        "sound": Candidate({"in": POSITIVE, "out": NEGATIVE}, 10.0, Hand.DID_NOT_SLIP, sound=True),
        "slipped": Candidate({"in": POSITIVE, "out": NEGATIVE}, 10.0, Hand.SLIPPED, sound=True),
        "sticks": Candidate({"in": POSITIVE, "out": STICKS}, 4.0),
        "loose": Candidate({"in": LOOSE, "out": NEGATIVE}, 3.0),
        "stuck": Candidate({"in": POSITIVE, "out": POSITIVE}, 3.0),
        "floats": Candidate({"in": FLOATING, "out": FLOATING}, 3.0),
    },
    {"in": "out", "out": "in"},
    ("in", "out"),
)
IN_OUT = [BenchTest("in", cost_s=8, repeats=14), BenchTest("out", cost_s=8, repeats=14)]


def seen(
    test: str,
    positives: int,
    power_up: int = 0,
    *,
    readings: int = 21,
    restarted: bool = False,
    runs: int | None = None,
) -> Observation:
    """An observation in few words."""
    return Observation(test, positives, readings, restarted, power_up, runs)


def trials(number: int, *, stuck: int = 0) -> list[Observation]:
    """So many cycles that follow the filament, the last of the out trials stuck."""
    return [
        trial for each in range(number) for trial in (seen("in", 21), seen("out", 21 if each >= number - stuck else 0))
    ]


def test_a_dwell_of_one_state_is_binomial_and_a_mixed_one_beta_binomial() -> None:
    """The counts under each state of a dwell are SciPy's, less the chance of a restart."""
    for k in range(22):
        count = Count(k, 21)
        up, mixed = (chance(state, count, 0.02, DEFAULT_ERRORS) for state in ((1.0, 0, 0, 0), (0, 0, 1.0, 0)))

        assert 0.998 * stats.binom.pmf(k, 21, 0.98) == pytest.approx(up)
        assert 0.998 * stats.betabinom.pmf(k, 21, 0.5, 0.5) == pytest.approx(mixed)


def test_errors_that_stand_alone_fall_into_runs_as_chance_has_it() -> None:
    """Three errors among nine readings: every placing enumerated gives the same number of runs as the formula."""
    placings = list(combinations(range(9), 3))
    for runs in (1, 2, 3):
        alike = sum(1 + sum(b - a > 1 for a, b in pairwise(places)) == runs for places in placings)
        without, with_runs = (chance((1.0, 0, 0, 0), Count(6, 9, known), 0.1, DEFAULT_ERRORS) for known in (None, runs))

        assert alike / len(placings) == pytest.approx(with_runs / without)


@given(
    first=st.sampled_from(Sign),
    second=st.none() | st.sampled_from(Sign),
    by=st.sampled_from(By),
    held=st.sampled_from(Held),
    departing=st.sampled_from([each for each, _ in DEPARTURES]),
)
@settings(deadline=None, max_examples=120)
def test_whatever_is_expected_sums_to_one(
    first: Sign, second: Sign | None, by: By, held: Held, departing: Departing
) -> None:
    """A dwell is positive, negative, mixed or a restart, whatever is expected."""
    found = whole(Expectation(first, second, by), held, departing, DEFAULT_ERRORS)

    assert 1.0 == pytest.approx(sum(found))
    assert min(found) >= 0


@pytest.mark.parametrize("weighted", [DEPARTURES, LASTING_DEPARTURES, LEANINGS, READING_ERRORS])
def test_what_is_not_known_has_weights_that_sum_to_one(weighted: tuple[tuple[object, object], ...]) -> None:
    """Departures, leanings and errors of a reading are each shared out whole."""
    weights = [pair[0] if isinstance(pair[1], dict) else pair[1] for pair in weighted]

    assert 1.0 == pytest.approx(sum(float(str(weight)) for weight in weights))
    assert [1.0] * len(LEANINGS) == [sum(leaning.values()) for _, leaning in LEANINGS], "and each leaning"


def test_where_nothing_departs_it_never_does() -> None:
    """What comes and goes is then what it shows first."""
    for loose, steady in ((LOOSE, POSITIVE), (STICKS, NEGATIVE)):
        assert whole(steady, Held.WANDERS, NOTHING_DEPARTS, DEFAULT_ERRORS) == pytest.approx(
            whole(loose, Held.WANDERS, NOTHING_DEPARTS, DEFAULT_ERRORS)
        )


EXPECTED = st.builds(Expectation, st.sampled_from(Sign), st.none() | st.sampled_from(Sign))
LOOKS = st.builds(
    lambda test, positives, power_up, restarted: seen(test, positives, power_up, restarted=restarted),
    st.sampled_from(["in", "out", "pulled"]),
    st.integers(0, 21),
    st.integers(0, 1),
    st.booleans(),
)


@given(
    rows=st.lists(st.tuples(EXPECTED, EXPECTED, EXPECTED), min_size=2, max_size=3),
    hands=st.tuples(*[st.sampled_from(Hand)] * 3),
    looks=st.lists(LOOKS, min_size=1, max_size=4),
)
@settings(deadline=None, max_examples=25)
def test_the_weights_are_those_of_the_long_way_round(
    rows: list[tuple[Expectation, ...]], hands: tuple[Hand, ...], looks: list[Observation]
) -> None:
    """Any candidates and any observations: the weighing that enumerates every unit with SciPy gives the same."""
    candidates = {
        str(place): Candidate(dict(zip(("in", "out", "pulled"), row, strict=True)), 1.0 + place, hand)
        for place, (row, hand) in enumerate(zip(rows, hands, strict=False))
    }
    explanations = Explanations({**candidates, "other": Candidate(ROWS["fine"], 1.0)}, {"in": "out", "out": "in"})

    wanted = reference_weighing.posterior(explanations, looks)
    assert wanted == pytest.approx(posterior(explanations, looks), rel=1e-6, abs=1e-12)


def test_readings_in_runs_weigh_as_the_long_way_round() -> None:
    """Four readings that departed, in one run and each alone, against a lever that sticks and a joint that is loose."""
    for runs in (1, 4):
        looks = [seen("in", 17, runs=runs), seen("out", 4, runs=runs), seen("out", 0)]

        assert reference_weighing.posterior(PERSON, looks) == pytest.approx(posterior(PERSON, looks), rel=1e-6)


def test_departing_in_a_run_is_no_error_of_single_readings() -> None:
    """Four readings in a row speak for what comes and goes; four that stand alone speak for noise."""
    noisy = [each for _ in range(4) for each in (seen("in", 20, runs=1), seen("out", 1, runs=1), *trials(1))]
    together, apart = (posterior(PERSON, [*noisy, seen("in", 18, runs=runs)])["loose"] for runs in (1, 3))

    assert together > 2 * apart


def test_a_dwell_is_one_look_and_not_twenty_one() -> None:
    """A whole dwell against a candidate costs it a factor of a few hundred, however many readings agree."""
    few, many = (posterior(EVEN, [seen("in", 0, readings=n)]) for n in (21, 200))

    assert 1 / 1000 < few["fine"] / few["far"] < 1 / 100
    assert few["fine"] / few["far"] == pytest.approx(many["fine"] / many["far"], rel=0.1)


def test_an_input_that_sticks_does_not_count_as_agreement() -> None:
    """Two tests in one power-up that agree weigh less for a driven input than in two power-ups."""
    rows = {"driven": {"a": POSITIVE, "b": POSITIVE}, "floats": {"a": FLOATING, "b": FLOATING}}
    even = Explanations({name: Candidate(row, 1.0) for name, row in rows.items()})
    together = posterior(even, [seen("a", 21), seen("b", 21)])
    apart = posterior(even, [seen("a", 21), seen("b", 21, 1)])

    assert apart["driven"] > together["driven"]


def test_a_restart_speaks_for_what_shorts_the_supply() -> None:
    """One restart turns a small prior into a lead, and the counts of that test do not matter."""
    rows = {"sound": {"in": POSITIVE}, "shorts": {"in": RESTART}}
    explanations = Explanations({name: Candidate(rows[name], prior) for name, prior in (("sound", 20), ("shorts", 1))})
    found = posterior(explanations, [seen("in", 0, restarted=True)])

    shorted = (1 - 0.005) * 0.95 + (1 - (1 - 0.005) * 0.95) * 0.002
    assert shorted / (shorted + 20 * 0.002) == pytest.approx(found["shorts"])


def test_the_order_of_the_observations_does_not_matter() -> None:
    """The same observations in another order give the same weights."""
    some = [seen("in", 0), seen("out", 1), seen("pulled", 20, 1)]

    assert posterior(EVEN, some) == pytest.approx(posterior(EVEN, some[::-1]))


def test_nothing_seen_leaves_the_priors() -> None:
    """Without an observation the weights are the priors."""
    priors = {"fine": 5.0, "far": 3.0, "near": 2.0}
    explanations = Explanations({name: Candidate(ROWS[name], prior) for name, prior in priors.items()})

    assert {"fine": 0.5, "far": 0.3, "near": 0.2} == pytest.approx(posterior(explanations, []))


@pytest.mark.parametrize("cycles", [6, 9])
def test_nothing_is_sound_above_90_percent_before_ten_trials(cycles: int) -> None:
    """However clean, six and nine trials with filament out do not clear a sensor."""
    found = diagnose(PERSON, trials(cycles), ["in", "out"])

    assert "sound" in found.groups[0].members
    assert found.groups[0].weight <= CONFIDENT
    assert 1.0 == pytest.approx(sum(group.weight for group in found.groups)), "what sound gives up the others take"
    assert not found.decided


def test_what_sound_gives_up_the_others_share() -> None:
    """Priors of 76, 19, 3 and 2: the two that may be sound are held at 90 %, four to one, and the rest has ten."""
    rows = {"sound": {"in": POSITIVE}, "slipped": {"in": NEGATIVE}, "loose": {"in": LOOSE}, "floats": {"in": FLOATING}}
    priors = {"sound": 76.0, "slipped": 19.0, "loose": 3.0, "floats": 2.0}
    candidates = {name: Candidate(row, priors[name], sound=priors[name] > 10) for name, row in rows.items()}
    found = diagnose(Explanations(candidates, PERSON.slips, PERSON.in_out), [], ["in"])

    assert {("sound",): 0.72, ("slipped",): 0.18, ("loose",): 0.06, ("floats",): 0.04} == pytest.approx(
        {group.members: group.weight for group in found.groups}
    )


def test_where_all_may_be_sound_nothing_is_given_up() -> None:
    """There is no other class that could take it."""
    candidates = {name: Candidate(ROWS[name], 1.0, sound=True) for name in ("fine", "near")}
    found = diagnose(Explanations(candidates, {}, ("in", "out")), [], ["in"])

    assert [0.5, 0.5] == [group.weight for group in found.groups]


def test_only_trials_with_filament_out_clear_a_sensor() -> None:
    """Ten of them, in which the board did not restart; where no pair of tests shows it there is nothing to wait for."""
    ins, outs = [seen("in", 21)] * 10, [seen("out", 0)] * 3

    assert (10, 7) == (PERSON.trials_missing(ins), PERSON.trials_missing([*ins, *outs]))
    assert 7 == PERSON.trials_missing([*outs, seen("out", 0, restarted=True)])
    assert 0 == EVEN.trials_missing(outs)


def test_readings_follow_by_their_own_two_tests() -> None:
    """Whatever a third test shows; without two such tests, with two of a kind or with one that differs they do not."""
    three = trials(3)

    assert followed(PERSON, [*three, seen("pulled", 9), seen("pulled", 21)])
    assert not followed(PERSON, three[:-1])
    assert not followed(PERSON, [*three, seen("in", 0)])
    assert not followed(PERSON, [seen(test, 21) for test in ("in", "out") for _ in range(3)])
    assert not followed(EVEN, three)


@pytest.mark.parametrize(("weight", "decided"), [(CONFIDENT, False), (0.901, True)])
def test_nine_parts_in_ten_are_not_enough(weight: float, decided: bool) -> None:
    """What is held at 90 % for want of trials is no finding, however small each of the others is."""
    others = tuple(Group((f"rare {number}",), (1 - weight) / 10) for number in range(10))
    found = Diagnosis((Group(("sound",), weight), *others), weight / others[0].weight, 20.0)

    assert found.odds > 20
    assert decided is found.decided
    assert decided is replace(found, odds=20.0).decided, "twenty to one is enough"


@pytest.mark.parametrize(("positives", "mostly"), [(10, True), (9, True), (8, None), (2, None), (1, False), (0, False)])
def test_nine_of_ten_are_mostly(positives: int, mostly: bool | None) -> None:
    """Nine readings of ten say what a test shows, eight say neither."""
    assert mostly is seen("in", positives, readings=10).mostly


def test_a_test_that_restarted_the_board_shows_no_state() -> None:
    """It says something of the wiring, and nothing of what the input reads."""
    assert seen("unplugged", 0, readings=0, restarted=True).mostly is None


def test_enough_clean_trials_clear_a_sensor() -> None:
    """Forty clean cycles do, ten alone do not: a lever that sticks in one of ten withdrawals may hide that long."""
    ten, forty = (diagnose(PERSON, trials(cycles), ["in", "out"]) for cycles in (10, 40))

    assert CONFIDENT < forty.groups[0].weight
    assert ten.groups[0].weight < forty.groups[0].weight - 0.02


def test_a_class_that_may_be_sound_is_held_back_too() -> None:
    """Where another candidate reads like the sound one, the two together stay below 90 % before ten trials."""
    twins = {**PERSON.candidates, "like sound": Candidate({"in": POSITIVE, "out": NEGATIVE}, 500.0)}
    found = diagnose(Explanations(twins, PERSON.slips, PERSON.in_out), trials(9), ["in", "out"])

    assert {"sound", "like sound"} == set(found.groups[0].members)
    assert found.groups[0].weight <= CONFIDENT


def test_one_odd_trial_is_a_slip_before_it_is_a_fault() -> None:
    """Twelve cycles of which one out trial read in: the slip of the hand is in front, and no fault is found."""
    found = diagnose(PERSON, trials(12, stuck=1), ["in", "out"])
    faults = [group for group in found.groups if not PERSON.may_be_sound(group.members)]

    assert ("slipped",) == found.groups[0].members
    assert max(group.weight for group in faults) < 0.5


def test_more_odd_trials_are_a_lever_that_sticks() -> None:
    """Three of twelve out trials that read in are no slip any more."""
    assert ("sticks",) == diagnose(PERSON, trials(12, stuck=3), ["in", "out"]).groups[0].members


def test_readings_that_followed_rule_out_what_cannot() -> None:
    """Three cycles that followed the filament: what is stuck or floats on both sides weighs nothing at all."""
    before, after = posterior(PERSON, trials(2)), posterior(PERSON, trials(3))

    assert (0.0, 0.0) == (after["stuck"], after["floats"])
    assert min(before["stuck"], before["floats"]) > 0


def test_readings_that_followed_the_wrong_way_round_rule_out_the_same() -> None:
    """Inverted readings follow too."""
    inverted = [trial for _ in range(3) for trial in (seen("in", 0), seen("out", 21))]

    assert 0.0 == posterior(PERSON, inverted)["stuck"]


def test_candidates_that_no_test_at_hand_separates_are_one_class() -> None:
    """Without the pulled plug two candidates are one class; with it they are two, and it is named as what separates."""
    assert [("fine",), ("far", "near")] == classes(EVEN, ["in", "out"])
    assert [("fine",), ("far",), ("near",)] == classes(EVEN, ["in", "out", "pulled"])
    assert ["pulled"] == separating(EVEN, ["far", "near"], ["in", "out", "pulled"])


def test_a_slip_is_a_class_of_its_own() -> None:
    """What reads like a sound sensor and says that the hand slipped is told apart by what was seen."""
    assert ("slipped",) in classes(PERSON, ["in", "out"])


def test_what_a_person_only_looks_at_makes_no_class() -> None:
    """Two candidates that read alike and look different are one class: a look may overlook it."""
    rows = {"one": {"in": POSITIVE, "look": LOOKED_YES}, "two": {"in": POSITIVE, "look": LOOKED_NO}}
    explanations = Explanations({name: Candidate(row, 1.0) for name, row in rows.items()})

    assert [("one", "two")] == classes(explanations, ["in", "look"])


def test_equal_weights_stay_in_their_order() -> None:
    """What differs by the rounding of a sum alone is told in the order of the table, whichever way it was summed."""
    first, last = Group(("first",), 0.3), Group(("last",), 0.1 + 0.2)
    heavier = Group(("heavier",), 0.4)

    assert last.weight > first.weight
    assert (heavier, first, last) == ranked((first, last, heavier))


def test_a_class_leads_by_its_members_together() -> None:
    """The odds are the first class against the second, members added up."""
    found = diagnose(EVEN, [seen("in", 0)], ["in", "out"])

    assert ("far", "near") == found.groups[0].members
    assert found.groups[0].weight / found.groups[1].weight == pytest.approx(found.odds)
    assert found.decided


@pytest.mark.parametrize(("lead", "decided"), [(20.01, True), (19.99, False)])
def test_twenty_to_one_decides(lead: float, decided: bool) -> None:
    """A lead of 20 to 1 is a finding, one just below is not; common practice here, no source."""
    told = {"fine": lead, "far": 0.5, "near": 0.5}
    rows = {**ROWS, "near": ROWS["far"]}
    explanations = Explanations({name: Candidate(rows[name], prior) for name, prior in told.items()})

    assert decided == diagnose(explanations, [], ["in", "out", "pulled"]).decided


def test_a_lead_over_many_is_no_finding() -> None:
    """Twenty to one against the second alone decides nothing while all the others together weigh a quarter."""
    many = {f"rare {number}": Candidate(ROWS["far" if number % 2 else "near"], 1.0) for number in range(2)}
    rows = [{**ROWS["near"], "extra": each} for each in (POSITIVE, NEGATIVE, FLOATING, RESTART, STICKS)]
    many = {f"rare {number}": Candidate(row, 1.0) for number, row in enumerate(rows)}
    fine = Candidate({**ROWS["fine"], "extra": POSITIVE}, 30.0)
    found = diagnose(Explanations({"fine": fine, **many}), [], ["in", "extra"])

    assert found.odds >= 20
    assert not found.decided


def test_one_class_alone_is_decided_without_a_test() -> None:
    """When nothing at hand separates the candidates there is one class, and no lead to wait for."""
    found = choose(EVEN, [BenchTest("out")], [])

    assert (1, inf) == (len(found.diagnosis.groups), found.diagnosis.odds)
    assert found.test is None


QUIET = Errors(1e-9, 1e-9, 1e-9, 1e-9, 1e-9, 1e-9, 1e-9, 1e-9)


def test_the_gain_is_the_mutual_information() -> None:
    """A test that splits two even candidates without error tells one bit; one that does not split tells none."""
    rows = {"a": {"x": POSITIVE, "y": POSITIVE}, "b": {"x": NEGATIVE, "y": POSITIVE}}
    explanations = Explanations({name: Candidate(row, 1.0) for name, row in rows.items()})
    found = diagnose(explanations, [], ["x", "y"])

    assert 1.0 == pytest.approx(gain_bits(explanations, found, BenchTest("x"), errors=QUIET), abs=1e-6)
    assert 0.0 == pytest.approx(gain_bits(explanations, found, BenchTest("y"), errors=QUIET), abs=1e-9)


def test_the_gain_of_a_measurement_is_that_of_a_noisy_channel() -> None:
    """A meter that is misread with e tells two even candidates apart by 1 - H(e) bits: Shannon's symmetric channel."""
    e = 0.11
    rows = {
        "a": {"x": Expectation(Sign.POSITIVE, by=By.MEASURED)},
        "b": {"x": Expectation(Sign.NEGATIVE, by=By.MEASURED)},
    }
    explanations = Explanations({name: Candidate(row, 1.0) for name, row in rows.items()})
    errors = Errors(1e-9, 1e-9, 1e-9, 1e-9, 1e-9, 1e-9, 1e-9, e)
    found = gain_bits(explanations, diagnose(explanations, [], ["x"]), BenchTest("x", readings=1), errors=errors)

    assert 1 + e * log2(e) + (1 - e) * log2(1 - e) == pytest.approx(found, abs=1e-6)


def test_a_test_within_a_class_tells_nothing() -> None:
    """What separates only candidates of one class is worth nothing to the class."""
    found = diagnose(EVEN, [], ["in", "out"])

    assert 0.0 == pytest.approx(gain_bits(EVEN, found, BenchTest("out")), abs=1e-9)


def test_the_test_that_tells_most_for_its_cost_is_asked() -> None:
    """Two tests tell the same two candidates apart: the lever by hand comes before the power-off."""
    rows = {"a": {"hand": POSITIVE, "off": POSITIVE}, "b": {"hand": NEGATIVE, "off": NEGATIVE}}
    explanations = Explanations({name: Candidate(row, 1.0) for name, row in rows.items()})
    tests = [BenchTest("off", own_power_up=True, cost_s=120), BenchTest("hand", cost_s=10)]
    found = choose(explanations, tests, [])

    assert found.test is tests[1]
    assert "bit" not in found.reason


def test_a_dear_test_that_tells_little_is_not_asked() -> None:
    """What is nearly known is not worth taking mains and USB out for, and is worth moving a finger for."""
    rows = {"a": {"x": POSITIVE}, "b": {"x": NEGATIVE}}
    explanations = Explanations({"a": Candidate(rows["a"], 300.0), "b": Candidate(rows["b"], 1.0)})
    rules = Rules(enough_odds=1e9, least_rate_bits=0.02)
    dear, cheap = (choose(explanations, [BenchTest("x", cost_s=s)], [], rules=rules).test for s in (300.0, 8.0))

    assert dear is None
    assert cheap is not None


def test_a_second_look_is_asked_first() -> None:
    """While what was declared may be wrong, a look at it comes before any test, though that tells more."""
    rows = {
        "sound": {"in": POSITIVE, "look": LOOKED_NO},
        "declared wrong": {"in": NEGATIVE, "look": LOOKED_YES},
    }
    explanations = Explanations({name: Candidate(row, 1.0) for name, row in rows.items()})
    tests = [BenchTest("in", cost_s=1), BenchTest("look", readings=1, repeats=1, first=True)]

    first = choose(explanations, tests, [])
    second = choose(explanations, tests, [Observation("look", 0, 1)])
    assert (tests[1], tests[0]) == (first.test, second.test)


def test_what_looks_sound_still_takes_its_ten_trials() -> None:
    """After four clean cycles nothing separates further, and six more trials with filament out are asked for."""
    rules = Rules(least_gain_bits=10.0)
    found = choose(PERSON, IN_OUT, trials(4), rules=rules)

    assert (IN_OUT[1], 6) == (found.test, found.times)
    assert choose(PERSON, IN_OUT, trials(10), rules=rules).test is None


def test_it_asks_until_one_class_leads() -> None:
    """The one test that never differs is not asked, and it stops when one class leads by enough."""
    observations: list[Observation] = []
    asked = []
    while (choice := choose(EVEN, TESTS, observations)).test is not None:
        asked.append(choice.test.name)
        number = next_power_up(TESTS, observations, choice.test)
        observations.append(seen(choice.test.name, 21 if choice.test.name == "pulled" else 0, number))

    assert "out" not in asked
    assert ("near",) == choice.diagnosis.groups[0].members
    assert choice.diagnosis.decided
    assert "leads" in choice.reason


def test_a_test_that_may_restart_the_board_is_left_out() -> None:
    """Once a restart makes a short likely, the tests that would repeat it are unsafe, and the meter is asked for."""
    meter = Expectation(Sign.POSITIVE, by=By.MEASURED)
    rows = {
        "sound": {"in": POSITIVE, "meter": Expectation(Sign.NEGATIVE, by=By.MEASURED)},
        "shorts": {"in": RESTART, "meter": meter},
    }
    explanations = Explanations({"sound": Candidate(rows["sound"], 100.0), "shorts": Candidate(rows["shorts"], 1.0)})
    tests = [BenchTest("in"), BenchTest("meter", readings=1, own_power_up=True, unpowered=True, cost_s=240)]
    found = choose(explanations, tests, [seen("in", 0, restarted=True)], rules=Rules(enough_odds=1000))

    assert ("in",) == found.unsafe
    assert found.test is tests[1]
    assert 0.0 == restarting(explanations, {"sound": 0.0, "shorts": 1.0}, tests[1])


def test_after_a_restart_only_the_meter_is_asked_for() -> None:
    """However cheap and safe another test is, nothing with power on is tried on a supply that may be shorted."""
    rows = {
        "sound": {"in": POSITIVE, "out": NEGATIVE, "meter": Expectation(Sign.NEGATIVE, by=By.MEASURED)},
        "shorts": {"in": RESTART, "out": POSITIVE, "meter": Expectation(Sign.POSITIVE, by=By.MEASURED)},
    }
    explanations = Explanations({"sound": Candidate(rows["sound"], 100.0), "shorts": Candidate(rows["shorts"], 1.0)})
    meter = BenchTest("meter", readings=1, own_power_up=True, unpowered=True, cost_s=240)
    tests, rules = [BenchTest("in"), BenchTest("out", cost_s=1), meter], Rules(enough_odds=1000)

    assert meter == choose(explanations, tests, [seen("in", 0, restarted=True)], rules=rules).test
    assert choose(explanations, tests[:2], [seen("in", 0, restarted=True)], rules=rules).test is None


def test_candidates_only_an_unsafe_test_could_separate_are_one_class() -> None:
    """What could be told apart only by shorting the supply again is shown as one class."""
    rows = {
        "sound": {"in": POSITIVE, "hand": POSITIVE},
        "shorts at the lever": {"in": RESTART, "hand": RESTART},
        "shorts in the cable": {"in": RESTART, "hand": NEGATIVE},
    }
    explanations = Explanations({name: Candidate(row, 1.0) for name, row in rows.items()})
    found = choose(explanations, [BenchTest("in"), BenchTest("hand")], [seen("in", 0, restarted=True)])

    assert ("hand", "in") == tuple(sorted(found.unsafe))
    assert ("shorts at the lever", "shorts in the cable") == found.diagnosis.groups[0].members


def test_a_test_is_not_asked_for_ever() -> None:
    """A test is asked as often as it may be, and then the reason to stop is that nothing separates further."""
    rows = {"a": {"x": STICKS}, "b": {"x": FLOATING}}
    explanations = Explanations({name: Candidate(row, 1.0) for name, row in rows.items()})
    tests = [BenchTest("x", own_power_up=True, repeats=3)]
    observations: list[Observation] = []
    while (choice := choose(explanations, tests, observations)).test:
        observations.append(seen("x", 9, len(observations)))

    assert len(observations) <= 3
    assert "separates further" in choice.reason or choice.diagnosis.decided


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


@pytest.mark.parametrize(("positives", "runs"), [(0, 1), (3, 0), (3, 4), (20, 2)])
def test_impossible_runs_are_refused(positives: int, runs: int) -> None:
    """Runs are of the fewer readings: at least one where there are any, and never more than there are."""
    with pytest.raises(ValueError, match="do not fall into"):
        seen("in", positives, runs=runs)


def test_what_cannot_be_weighed_is_refused() -> None:
    """A candidate without a prior, a test nobody predicts, and no candidate at all are refused by name."""
    with pytest.raises(ValueError, match="'near' has no prior"):
        Explanations({**EVEN.candidates, "near": Candidate(ROWS["near"], 0.0)})
    with pytest.raises(ValueError, match="'shaken'"):
        posterior(EVEN, [seen("shaken", 1)])
    with pytest.raises(ValueError, match="no candidate"):
        Explanations({})
    with pytest.raises(ValueError, match="a cost above zero"):
        BenchTest("in", cost_s=0.0)


@pytest.mark.parametrize("error", [0.0, 0.5, 1.0])
def test_an_error_term_of_zero_is_refused(error: float) -> None:
    """Without any error term one odd reading would decide everything, so it is refused."""
    with pytest.raises(ValueError, match="between 0 and"):
        Errors(slip=error)
