"""Which test is asked for next: what each is worth, against a reckoning that enumerates every unit, and its limits."""

from math import nextafter

import pytest

from commission.judge.diagnosis import BenchTest, Diagnosis, Group, diagnose
from commission.judge.expectation import By, Errors, Expectation, Sign
from commission.judge.explanations import Candidate, Explanations, Hand, Observation
from commission.judge.next_test import Choice, Rules, choose, gain_bits, next_power_up, restarting
from tests.judge import reference_weighing

POSITIVE, NEGATIVE, FLOATING, RESTART = (Expectation(sign) for sign in Sign)
LOOSE, STICKS = Expectation(Sign.POSITIVE, Sign.NEGATIVE), Expectation(Sign.NEGATIVE, Sign.POSITIVE, lasting=True)
DRIFTS, SHORTS = Expectation(Sign.POSITIVE, Sign.FLOATING), Expectation(Sign.POSITIVE, Sign.RESTART)
LOOKED_YES, LOOKED_NO = (Expectation(sign, by=By.LOOKED) for sign in (Sign.POSITIVE, Sign.NEGATIVE))
QUIET = Errors(*[1e-9] * 8)
TESTS = [BenchTest("in"), BenchTest("out"), BenchTest("pulled", own_power_up=True), BenchTest("look", readings=1)]


def row(*expected: Expectation) -> dict[str, Expectation]:
    """What the four tests show."""
    return dict(zip(("in", "out", "pulled", "look"), expected, strict=True))


BENCH = Explanations(
    {
        "sound": Candidate(row(POSITIVE, NEGATIVE, NEGATIVE, LOOKED_NO), 5.0, Hand.DID_NOT_SLIP, sound=True),
        "slipped": Candidate(row(POSITIVE, NEGATIVE, NEGATIVE, LOOKED_NO), 5.0, Hand.SLIPPED, sound=True),
        "like it": Candidate(row(POSITIVE, NEGATIVE, NEGATIVE, LOOKED_YES), 2.0),
        "loose": Candidate(row(LOOSE, NEGATIVE, POSITIVE, LOOKED_NO), 3.0),
        "sticks": Candidate(row(POSITIVE, STICKS, NEGATIVE, LOOKED_NO), 3.0),
        "drifts": Candidate(row(DRIFTS, FLOATING, FLOATING, LOOKED_YES), 3.0),
        "shorts": Candidate(row(SHORTS, NEGATIVE, LOOSE, LOOKED_NO), 1.0),
    },
    {"in": "out", "out": "in"},
    ("in", "out"),
)
SEEN: tuple[list[Observation], ...] = (
    [],
    [Observation("in", 21, 21, runs=0), Observation("out", 1, 21, runs=1)],
    [Observation("in", 21, 21), Observation("out", 21, 21), Observation("in", 18, 21)],
    [Observation("pulled", 21, 21), Observation("in", 21, 21, power_up=1), Observation("out", 20, 21, power_up=1)],
)


@pytest.mark.parametrize("observations", SEEN)
def test_what_a_test_tells_is_that_of_the_long_way_round(observations: list[Observation]) -> None:
    """Every test after a few observations: all units enumerated, whatever comes and goes, floats or is looked at."""
    found = diagnose(BENCH, observations, [test.name for test in TESTS])
    groups = [group for group in found.groups if group.weight > 0.001]
    heavy = [(group.members, group.weight / sum(each.weight for each in groups)) for group in groups]
    number = {test.name: next_power_up(TESTS, observations, test) for test in TESTS}
    for power_up in set(number.values()):
        tests = [name for name in number if number[name] == power_up]
        wanted = reference_weighing.gains_bits(BENCH, heavy, observations, tests, power_up)
        told = {test.name: gain_bits(BENCH, found, test, observations, TESTS) for test in TESTS if test.name in tests}

        assert wanted == pytest.approx(told, abs=1e-9)


def even(first: float, second: float, *, sound: bool = False) -> Explanations:
    """Two candidates that the test "x" tells apart, the first of them sound or not."""
    return Explanations({"a": Candidate({"x": POSITIVE}, first, sound=sound), "b": Candidate({"x": NEGATIVE}, second)})


X = BenchTest("x")


def test_the_first_power_up_is_number_0() -> None:
    """What was seen belongs to it unless it says otherwise, and the next one is number 1."""
    assert (0, 1) == tuple(next_power_up(TESTS, [Observation("in", 21, 21)], test) for test in (TESTS[0], TESTS[2]))


def test_classes_of_a_thousandth_say_nothing() -> None:
    """Two classes of 0.4 are told apart by one bit, with two hundred beside them that weigh a thousandth each."""
    rare = tuple(Group((f"rare {number}",), 0.001) for number in range(200))
    found = Diagnosis((Group(("a",), 0.4), Group(("b",), 0.4), *rare), 1.0, 20.0)

    assert 1.0 == pytest.approx(gain_bits(even(1.0, 1.0), found, X, errors=QUIET), abs=1e-6)


def asked(explanations: Explanations, rules: Rules, test: BenchTest = X) -> Choice:
    """What is asked for before anything was seen."""
    return choose(explanations, [test], [], rules=rules)


def test_a_test_at_the_least_gain_is_asked() -> None:
    """One that tells exactly as much as it must is worth asking, one that falls short by the last bit is not."""
    gain = asked(even(1.0, 1.0), Rules()).gain_bits
    at, above = (asked(even(1.0, 1.0), Rules(least_gain_bits=bits)) for bits in (gain, nextafter(gain, 2)))

    assert (X, None) == (at.test, above.test)
    assert (gain, 0.0) == (at.gain_bits, above.gain_bits)
    assert 1 == at.times


def test_what_a_test_must_promise_grows_with_its_cost() -> None:
    """0.01 bits a minute: 0.1 for ten minutes, 0.4 while what looks sound is in front, and never below 0.015."""
    for cost_s, sound, bits in ((600, False, 0.1), (600, True, 0.4), (8, False, 0.015), (8, True, 0.015)):
        assert bits == pytest.approx(Rules().worth_asking_bits(cost_s, looks_sound=sound), rel=1e-9)


def test_the_first_class_says_whether_it_looks_sound() -> None:
    """A test that is worth its cost where a fault is in front is not while what looks sound is."""
    dear, rules = BenchTest("x", cost_s=3000.0), Rules()

    assert dear is asked(even(4.0, 6.0, sound=True), rules, dear).test
    assert None is asked(even(6.0, 4.0, sound=True), rules, dear).test


def test_odds_that_are_just_enough_end_it() -> None:
    """A lead of as many to one as are enough asks for nothing more, and nothing is told by no test."""
    odds = diagnose(even(30.0, 1.0), [], ["x"]).odds
    met, missed = (asked(even(30.0, 1.0), Rules(enough_odds=needed)) for needed in (odds, nextafter(odds, 99)))

    assert (None, 0.0, True) == (met.test, met.gain_bits, "leads by" in met.reason)
    assert X is missed.test


def test_fifty_to_one_is_enough_and_twenty_to_one_is_found() -> None:
    """Common practice here, no source."""
    leads = {lead: asked(even(lead, 1.0), Rules()) for lead in (19.9, 20.1, 49.9, 50.1)}

    assert [False, True, True, True] == [each.diagnosis.decided for each in leads.values()]
    assert [X, X, X, None] == [each.test for each in leads.values()]


def test_a_trial_for_proof_is_worth_no_bits() -> None:
    """The trials that what looks sound still takes tell nothing apart."""
    found = choose(BENCH, TESTS, [], rules=Rules(least_gain_bits=9.0))

    assert (TESTS[1], 10, 0.0) == (found.test, found.times, found.gain_bits)


def test_a_test_that_restarts_as_often_as_it_may_is_asked() -> None:
    """In half of the dwells at worst a loose short restarts the board, missed once in twenty: 0.4736 with the rest."""
    explanations = Explanations({"a": Candidate({"x": SHORTS}, 1.0), "b": Candidate({"x": FLOATING}, 1.0)})
    whole = 0.995 * 0.5 * 0.95
    chance = restarting(explanations, {"a": 1.0}, X)
    both = restarting(explanations, {"a": 0.5, "b": 0.5}, X)
    at, below = (asked(explanations, Rules(restart_limit=limit)) for limit in (both, nextafter(both, 0)))

    assert whole + (1 - whole) * 0.002 == pytest.approx(chance)
    assert ((), ("x",)) == (at.unsafe, below.unsafe)


def test_a_test_is_a_dwell_unless_it_says_otherwise() -> None:
    """21 readings, 15 s of a person's time and three times at most; with power, beside others, and not before them."""
    assert BenchTest("x", 21, False, False, 15.0, 3, False) == X


def test_rules_at_their_limits_are_taken() -> None:
    """Any odds above 1, no least gain and a limit just below 1 are rules; what lies beyond them is none."""
    assert 1.5 == Rules(needed_odds=1.5, enough_odds=1.5, least_gain_bits=0.0, restart_limit=0.999).needed_odds
    for beyond in ({"enough_odds": 19.0}, {"least_rate_bits": -0.1}, {"restart_limit": 0.0}, {"restart_limit": 1.0}):
        with pytest.raises(ValueError, match="Odds above 1"):
            Rules(**beyond)
