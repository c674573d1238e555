"""How well each candidate explains what was seen: its prior times the probability of the observations under it.

What is not known of the unit is summed out: the error of its readings, how often something that comes and goes does so,
and what a floating input does in each power-up. So an input that sticks cannot pass for agreement of several tests, and
a clean series cannot pass for the absence of what comes and goes rarely.
Source: Bayes' rule; the numbers are stated, not measured.
"""

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from functools import lru_cache
from math import isfinite, prod

from commission.judge.expectation import (
    DEFAULT_ERRORS,
    DEPARTURES,
    LASTING_DEPARTURES,
    LEANINGS,
    NOTHING_DEPARTS,
    READING_ERRORS,
    Count,
    Departing,
    Errors,
    Expectation,
    Held,
    Sign,
    Whole,
    chance,
    lapsing,
    restart_chance,
    slipped,
    whole,
)
from commission.judge.explanations import Candidate, Explanations, Hand, Observation, can_follow, followed

CONFIDENT = 0.9
"""Above this share something is found; up to it, it is likeliest."""

Joint = Mapping[tuple[Departing, Held], float]
"""The weight of how often something departs, with what the input does in the newest power-up."""


class Seen:
    """What was seen, as each candidate has it; worked out once for each, as it is asked for again and again.

    Args:
        explanations: what is weighed.
        observations: what was seen.
    """

    def __init__(self, explanations: Explanations, observations: Sequence[Observation]) -> None:
        self.newest = observations[-1].power_up if observations else 0
        self._explanations = explanations
        self._observations = observations
        self._lines: dict[str, frozenset[tuple[_Line, int]]] = {}

    def under(self, name: str) -> "frozenset[tuple[_Line, int]]":
        """What a candidate expected of each test that was done, with what was counted, and how often."""
        found = self._lines.get(name)
        if found is None:
            candidate = self._explanations.candidates[name]
            counted = Counter(_line(self._explanations, candidate, each) for each in self._observations)
            found = self._lines[name] = frozenset(counted.items())
        return found


def posterior(
    explanations: Explanations,
    observations: Sequence[Observation],
    *,
    errors: Errors = DEFAULT_ERRORS,
    seen: Seen | None = None,
) -> dict[str, float]:
    """The weight of each candidate after what was seen; the weights sum to one.

    One rule stands above the sum: readings that followed the filament rule out each candidate under which they could
    not.

    Args:
        explanations: what is weighed.
        observations: what was seen.
        errors: the error terms.
        seen: the same observations, where more is asked of them; it is filled.

    Raises:
        ValueError: an observation of a test that is not predicted, or nothing explains what was seen.
    """
    seen = Seen(explanations, observations) if seen is None else seen
    for each in observations:
        if each.test not in explanations.tests:
            raise ValueError(f"The table does not predict {each.test!r} for every candidate.")
    ruled_out = followed(explanations, observations)
    raw = {
        name: 0.0
        if ruled_out and not can_follow(explanations, candidate)
        else candidate.prior * sum(joint(seen, name, candidate.hand, errors=errors).values())
        for name, candidate in explanations.candidates.items()
    }
    total = sum(raw.values())
    if not (isfinite(total) and total > 0):
        raise ValueError("Nothing weighed here explains what was seen: the diagnosis is not judged.")
    return {name: weight / total for name, weight in raw.items()}


def joint(seen: Seen, name: str, hand: Hand, *, errors: Errors = DEFAULT_ERRORS, newest: int | None = None) -> Joint:
    """The probability of what was seen under a candidate, by what is not known of the unit.

    Args:
        seen: what was seen.
        name: the candidate.
        hand: what it says of the person.
        errors: the error terms.
        newest: the power-up whose floating input is told apart; that of the last observation unless said otherwise.
    """
    lines, newest = seen.under(name), seen.newest if newest is None else newest
    if hand is not Hand.SLIPPED:
        return _joint(lines, hand, newest, errors)
    either, none = (_joint(lines, each, newest, errors) for each in (Hand.MAY_SLIP, Hand.DID_NOT_SLIP))
    return {key: max(0.0, either[key] - none[key]) for key in either}


_Look = tuple[Expectation, Expectation | None, Count, bool]
"""What is expected, what a slip would show, what was counted, restarted."""
_Line = tuple[_Look, int]
"""With the power-up it falls into."""
_ERRORS, _WEIGHTS = zip(*READING_ERRORS, strict=True)
_STILL = ((NOTHING_DEPARTS, 1.0),)


def _line(explanations: Explanations, candidate: Candidate, seen: Observation) -> _Line:
    other = explanations.slips.get(seen.test)
    twin = None if other is None else candidate.row[other]
    count = Count(seen.positives, seen.readings, seen.runs)
    return (candidate.row[seen.test], twin, count, seen.restarted), seen.power_up


@lru_cache(maxsize=1 << 14)
def _joint(lines: frozenset[tuple[_Line, int]], hand: Hand, newest: int, errors: Errors) -> Joint:
    expected = {each for ((own, twin, *_), _), _ in lines for each in (own, twin) if each is not None}
    departs = any(each.sometimes for each in expected)
    floats = any(Sign.FLOATING in {each.sign, each.sometimes} for each in expected)
    power_ups: dict[int, list[tuple[_Look, int]]] = {newest: []}
    for (look, power_up), times in lines:
        power_ups.setdefault(power_up if floats else newest, []).append((look, times))
    found: dict[tuple[Departing, Held], float] = {}
    lasts = any(each.lasting for each in expected)
    for departing, share in (LASTING_DEPARTURES if lasts else DEPARTURES) if departs else _STILL:
        of_power_up = {number: _by_held(looks, hand, departing, errors) for number, looks in power_ups.items()}
        now = of_power_up.pop(newest)
        over = _over_units(now, of_power_up.values()) if floats else _over_errors(now)
        found |= {(departing, held): share * value for held, value in over.items()}
    return found


_ByHeld = Mapping[Held, Sequence[float]]
"""The probability of what one power-up showed, by what a floating input does in it and for each error of a reading."""


def _over_units(now: _ByHeld, others: Collection[_ByHeld]) -> dict[Held, float]:
    """Summed over where a floating input leans and over the error of a reading."""
    found = dict.fromkeys(Held, 0.0)
    for weight, leaning in LEANINGS:
        for place, share in enumerate(_WEIGHTS):
            rest = prod(sum(leaning[held] * each[held][place] for held in Held) for each in others)
            for held in Held:
                found[held] += weight * share * rest * leaning[held] * now[held][place]
    return found


def _over_errors(now: _ByHeld) -> dict[Held, float]:
    """The same where nothing floats: what an input would do is not told apart."""
    total = sum(weight * value for weight, value in zip(_WEIGHTS, now[Held.WANDERS], strict=True))
    return {held: total * sum(weight * leaning[held] for weight, leaning in LEANINGS) for held in Held}


def _by_held(looks: Sequence[tuple[_Look, int]], hand: Hand, departing: Departing, errors: Errors) -> _ByHeld:
    found = {held: [1.0] * len(_ERRORS) for held in Held}
    for look, times in looks:
        chances = _chances(look, hand, departing, errors)
        for held, values in found.items():
            found[held] = [value * chance**times for value, chance in zip(values, chances[held], strict=True)]
    return found


@lru_cache(maxsize=1 << 15)
def _chances(look: _Look, hand: Hand, departing: Departing, errors: Errors) -> Mapping[Held, tuple[float, ...]]:
    """The probability of one look, by what a floating input does and for each error of a reading."""
    expected, twin, count, _ = look
    slip = 0.0 if twin is None else errors.slip
    found = {}
    for held in Held:
        own, lapses = whole(expected, held, departing, errors), lapsing(expected, held, departing)
        other = None
        if twin is not None and hand is not Hand.DID_NOT_SLIP:
            other = slipped(whole(twin, held, departing, errors), errors)
        by_error = [
            (1 - slip) * _seen(own, count, max(error, lapses), errors, look, lapses=lapses > 0)
            + (slip * _seen(other, count, error, errors, look) if other else 0.0)
            for error in _ERRORS
        ]
        found[held] = tuple(by_error)
    return found


def _seen(is_whole: Whole, count: Count, error: float, errors: Errors, look: _Look, *, lapses: bool = False) -> float:
    restarted = look[3]
    return restart_chance(is_whole, errors) if restarted else chance(is_whole, count, error, errors, lapses=lapses)
