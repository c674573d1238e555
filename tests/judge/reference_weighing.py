"""The weighing worked out the long way round, with SciPy: every value of everything that is not known, one by one.

It shares the stated numbers with the product and none of its arithmetic: no caching, no counting of equal looks, no
shortcut for what does not float.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from itertools import product
from math import log2

from scipy import stats

from commission.judge.expectation import (
    DEFAULT_ERRORS,
    DEPARTURES,
    LEANINGS,
    READING_ERRORS,
    By,
    Departing,
    Expectation,
    Held,
    Sign,
)
from commission.judge.explanations import Candidate, Explanations, Hand, Observation

E = DEFAULT_ERRORS


def posterior(explanations: Explanations, observations: Sequence[Observation]) -> dict[str, float]:
    """The weight of each candidate, without the rule about readings that followed."""
    raw = {}
    for name, candidate in explanations.candidates.items():
        either, none = (_all_units(explanations, candidate, observations, slips=slips) for slips in (True, False))
        chances = {Hand.MAY_SLIP: either, Hand.DID_NOT_SLIP: none, Hand.SLIPPED: either - none}
        raw[name] = candidate.prior * chances[candidate.hand]
    total = sum(raw.values())
    return {name: weight / total for name, weight in raw.items()}


def gains_bits(
    explanations: Explanations,
    groups: Sequence[tuple[Sequence[str], float]],
    observations: Sequence[Observation],
    tests: Sequence[str],
    power_up: int,
) -> dict[str, float]:
    """Of each test the mutual information of the class and what a dwell is as a whole: H(all) - sum of w x H(class).

    Args:
        explanations: the candidates.
        groups: the members and the weight of each class.
        observations: what was seen.
        tests: those in question.
        power_up: the one they fall into.
    """
    found = {}
    units = {name: _weighed(explanations, name, observations, power_up) for members, _ in groups for name in members}
    for test in tests:
        shown = [(weight, _of_a_class(explanations, members, units, test)) for members, weight in groups]
        together = {state: sum(weight * shares[state] for weight, shares in shown) for state in shown[0][1]}
        found[test] = _bits(together) - sum(weight * _bits(shares) for weight, shares in shown)
    return found


def _bits(shares: Mapping[str, float]) -> float:
    return -sum(share * log2(share) for share in shares.values() if share)


_Unit = tuple[Departing, Held]


def _weighed(
    explanations: Explanations, name: str, observations: Sequence[Observation], power_up: int
) -> dict[_Unit, float]:
    """A candidate's units by what still counts of them, each weighed by its prior and by what was seen."""
    candidate = explanations.candidates[name]
    either, none = (_units(explanations, candidate, observations, power_up, slips=slips) for slips in (True, False))
    found: dict[_Unit, float] = {}
    for (weight, departing, held), (without, *_) in zip(either, none, strict=True):
        of_hand = {Hand.MAY_SLIP: weight, Hand.DID_NOT_SLIP: without, Hand.SLIPPED: weight - without}
        found[departing, held] = found.get((departing, held), 0.0) + candidate.prior * of_hand[candidate.hand]
    return found


def _of_a_class(
    explanations: Explanations, members: Sequence[str], units: Mapping[str, Mapping[_Unit, float]], test: str
) -> dict[str, float]:
    """What a dwell of 21 readings is, over all members and units."""
    found, total = dict.fromkeys(("up", "down", "mixed", "restart"), 0.0), 0.0
    for name in members:
        for (departing, held), weight in units[name].items():
            total += weight
            for state, share in _next_dwell(explanations, explanations.candidates[name], test, held, departing).items():
                found[state] += weight * share
    return {state: share / total for state, share in found.items()}


def _next_dwell(
    explanations: Explanations, candidate: Candidate, test: str, held: Held, departing: Departing
) -> dict[str, float]:
    """A dwell still to come, in which any hand may slip; a lapse among its 21 readings makes it mixed."""
    own, other = candidate.row[test], explanations.slips.get(test)
    clean = (1 - _lapses(own, held, departing)) ** 21
    shown = {state: clean * share for state, share in _dwell(own, held, departing).items()}
    shown["mixed"] += 1 - clean
    if other is None:
        return shown
    late = _late(_dwell(candidate.row[other], held, departing))
    return {state: (1 - E.slip) * share + E.slip * late[state] for state, share in shown.items()}


def _late(twin: Mapping[str, float]) -> dict[str, float]:
    """What a hand that slipped shows: the other test, or a mixed dwell where it was only late."""
    late = {state: (1 - E.late) * share for state, share in twin.items()}
    late["mixed"] += E.late
    return late


def _all_units(
    explanations: Explanations, candidate: Candidate, observations: Sequence[Observation], *, slips: bool
) -> float:
    return sum(weight for weight, *_ in _units(explanations, candidate, observations, None, slips=slips))


def _units(
    explanations: Explanations,
    candidate: Candidate,
    observations: Sequence[Observation],
    newest: int | None,
    *,
    slips: bool,
) -> Iterator[tuple[float, Departing, Held]]:
    """Every unit with its probability and that of what was seen, and what its input does in the newest power-up."""
    power_ups = sorted({seen.power_up for seen in observations} | ({newest} if newest is not None else set()))
    lasts = any(expected.lasting for expected in candidate.row.values())
    dwells = [(each, weight / 0.7) for each, weight in DEPARTURES if not each.lapses]
    for (error, of_error), (departing, of_departing), (of_leaning, leaning) in product(
        READING_ERRORS, dwells if lasts else DEPARTURES, LEANINGS
    ):
        for helds in product(Held, repeat=len(power_ups)):
            chance = of_error * of_departing * of_leaning
            for held in helds:
                chance *= leaning[held]
            if chance == 0:
                continue
            by_power_up = dict(zip(power_ups, helds, strict=True))
            for seen in observations:
                held = by_power_up[seen.power_up]
                chance *= _look(explanations, candidate, seen, held, departing, error, slips=slips)
            yield chance, departing, helds[-1] if helds else Held.WANDERS


def _look(
    explanations: Explanations,
    candidate: Candidate,
    seen: Observation,
    held: Held,
    departing: Departing,
    error: float,
    *,
    slips: bool,
) -> float:
    own = candidate.row[seen.test]
    other = explanations.slips.get(seen.test)
    right = _count(_dwell(own, held, departing), seen, _lapses(own, held, departing), error)
    if other is None:
        return right
    late = _late(_dwell(candidate.row[other], held, departing))
    return (1 - E.slip) * right + (E.slip * _count(late, seen, 0.0, error) if slips else 0.0)


def _dwell(expected: Expectation, held: Held, departing: Departing) -> dict[str, float]:
    first = _state(expected.sign, held, expected.by)
    if expected.sometimes is not None and not departing.lapses:
        second = _state(expected.sometimes, held, expected.by)
        if Sign.RESTART not in {expected.sign, expected.sometimes} and not expected.lasting:
            second = {state: share / 2 for state, share in second.items()}
            second["mixed"] += 0.5
        q = departing.share
        first = {state: (1 - q) * share + q * second[state] for state, share in first.items()}
    return {state: (1 - E.odd) * share + (E.odd / 3 if state != "restart" else 0.0) for state, share in first.items()}


def _state(sign: Sign, held: Held, by: By) -> dict[str, float]:
    shares = {"up": 0.0, "down": 0.0, "mixed": 0.0, "restart": 0.0}
    if sign is Sign.RESTART:
        missed = E.restart_missed / 3
        return {"up": missed, "down": missed, "mixed": missed, "restart": 1 - E.restart_missed}
    if sign is Sign.FLOATING:
        shares[{Held.HIGH: "up", Held.LOW: "down", Held.WANDERS: "mixed"}[held]] = 1.0
        return shares
    up = sign is Sign.POSITIVE
    wrong = {By.READ: 0.0, By.MEASURED: E.mismeasured, By.LOOKED: E.overlooked if up else E.imagined}[by]
    shares["up"], shares["down"] = (1 - wrong, wrong) if up else (wrong, 1 - wrong)
    return shares


def _lapses(own: Expectation, held: Held, departing: Departing) -> float:
    """The share of readings that go over to the other state, where that is another one at all."""
    if own.sometimes is None or not departing.lapses:
        return 0.0
    one, two = _state(own.sign, held, By.READ), _state(own.sometimes, held, By.READ)
    if Sign.RESTART in {own.sign, own.sometimes}:
        return 0.0
    steady = one["mixed"] + two["mixed"] == 0
    if one == two:
        return 0.0
    return departing.share if steady else departing.share / 2


def _count(shares: Mapping[str, float], seen: Observation, lapses: float, error: float) -> float:
    if seen.restarted:
        return shares["restart"] + (1 - shares["restart"]) * E.restart_by_chance
    k, n = seen.positives, seen.readings
    wrong = max(error, lapses)
    up, down, mixed = _binomial(k, n, 1 - wrong), _binomial(k, n, wrong), _arcsine(k, n)
    fewer = min(k, n - k)
    if seen.runs is not None and fewer:
        alone = _runs_alone(seen.runs, n, fewer)
        up *= (alone + 1 / fewer) / 2 if lapses else alone
        down *= (alone + 1 / fewer) / 2 if lapses else alone
        mixed /= fewer
    return float((1 - E.restart_by_chance) * (shares["up"] * up + shares["down"] * down + shares["mixed"] * mixed))


@cache
def _binomial(k: int, n: int, share: float) -> float:
    return float(stats.binom.pmf(k, n, share))


@cache
def _arcsine(k: int, n: int) -> float:
    return float(stats.betabinom.pmf(k, n, 0.5, 0.5))


@cache
def _runs_alone(runs: int, n: int, fewer: int) -> float:
    """Wald and Wolfowitz: runs of one kind among n readings are hypergeometric."""
    return float(stats.hypergeom.pmf(runs, n, n - fewer + 1, fewer))
