"""The weighing worked out the long way round, with SciPy: every value of everything that is not known, one by one.

It shares the stated numbers with the product and none of its arithmetic: no caching, no counting of equal looks, no
shortcut for what does not float.
"""

from collections.abc import Mapping, Sequence
from functools import cache
from itertools import product

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


def _all_units(
    explanations: Explanations, candidate: Candidate, observations: Sequence[Observation], *, slips: bool
) -> float:
    power_ups = sorted({seen.power_up for seen in observations})
    total = 0.0
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
            total += chance
    return total


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
    twin = _dwell(candidate.row[other], held, departing)
    late = {state: (1 - E.late) * share for state, share in twin.items()}
    late["mixed"] += E.late
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
        # Wald and Wolfowitz: runs of one kind among n readings are hypergeometric
        alone = float(stats.hypergeom.pmf(seen.runs, n, n - fewer + 1, fewer))
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
