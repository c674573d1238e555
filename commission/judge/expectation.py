"""What one test shows under one candidate, as a distribution over what it is as a whole and over its counts.

A dwell is one correlated observation: it is as a whole positive, negative or mixed, or the board restarts in it, and
its readings say which, each with a small error. So 21 readings that agree weigh as one look, and not as 21.

Model. Under a candidate that expects
    positive or negative    the dwell is so;
    floating                it sticks, or it wanders and is then mixed; in most units this is drawn anew at each
                            power-up, in others a leakage has it stick on the same side every time;
    a restart               the restart is missed with a small probability;
    sometimes another       with a share of all dwells it departs, half of them from end to end, half of them mixed; or
                            in every dwell a share of the readings lapses; which, and how often, is the same for the
                            whole unit and not known. What lasts departs from end to end or not at all.
Of n readings k are positive: binomial with the error e of one reading where the dwell is positive or negative, and
beta-binomial with both parameters 1/2 where it is mixed. e is the same for the whole unit and not known. Errors stand
alone: d of them among n fall into r runs with C(d-1, r-1) C(n-d+1, r) / C(n, d); in a mixed dwell every number of runs
is alike, and lapses are half of the one kind and half of the other.
Source: the numbers are stated, not measured.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache, cached_property
from math import comb, exp
from typing import NamedTuple

from commission.judge.distributions import log_beta


class Sign(StrEnum):
    """What a test shows under a candidate."""

    POSITIVE = "positive"
    NEGATIVE = "negative"
    FLOATING = "floating"
    RESTART = "restart"


class By(StrEnum):
    """How it becomes known what a test shows."""

    READ = "read from the printer"
    MEASURED = "measured by a person"
    LOOKED = "seen by a person"


class Held(StrEnum):
    """What a floating input does in one power-up."""

    WANDERS = "wanders"
    HIGH = "sticks positive"
    LOW = "sticks negative"


LEANINGS: tuple[tuple[float, Mapping[Held, float]], ...] = (
    (0.94, {Held.WANDERS: 0.5, Held.HIGH: 0.25, Held.LOW: 0.25}),
    (0.03, {Held.WANDERS: 0.0, Held.HIGH: 1.0, Held.LOW: 0.0}),
    (0.03, {Held.WANDERS: 0.0, Held.HIGH: 0.0, Held.LOW: 1.0}),
)
"""Where a floating input leans, with the weight of each: it has no side, or it leaks to one."""


class Departing(NamedTuple):
    """How often something departs that comes and goes.

    Attributes:
        share: of all dwells, or of the readings in every dwell.
        lapses: it is the readings.
    """

    share: float
    lapses: bool = False


_DWELLS = ((0.03, 0.21), (0.10, 0.14), (0.20, 0.14), (0.35, 0.12), (0.60, 0.077), (0.90, 0.013))
_LAPSES = ((0.01, 0.07), (0.04, 0.08), (0.10, 0.08), (0.18, 0.07))
DEPARTURES = (
    *((Departing(share), weight) for share, weight in _DWELLS),
    *((Departing(share, lapses=True), weight) for share, weight in _LAPSES),
)
"""With their weights; shares of dwells are Beta(1/2, 2) in six steps: rare ones are common, and hard to see."""
LASTING_DEPARTURES = tuple((Departing(share), weight / 0.7) for share, weight in _DWELLS)
"""The same where it is whole dwells or none."""
NOTHING_DEPARTS = Departing(0.0)
_USUAL_READINGS = 21
READING_ERRORS = ((0.0002, 0.60), (0.003, 0.15), (0.01, 0.15), (0.025, 0.10))
"""Errors of one reading with their weights: most units have next to none."""


@dataclass(frozen=True)
class Expectation:
    """What a test shows under a candidate.

    Attributes:
        sign: what it shows.
        sometimes: what it shows now and then, where something comes and goes.
        by: how it becomes known.
        lasting: what comes and goes stays for a whole dwell, as a lever that sticks does.
    """

    sign: Sign
    sometimes: Sign | None = None
    by: By = By.READ
    lasting: bool = False

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:
        # many thousands of look-ups a diagnosis: three enumerations hashed each time would take half of its time
        return hash((self.sign, self.sometimes, self.by, self.lasting))


@dataclass(frozen=True)
class Errors:
    """The error terms of the model, each a probability.

    Attributes:
        slip: the person did not do what the prompt said, so that the test shows what another one would.
        late: of the slips, those in which the hand was only late: the dwell is mixed.
        odd: a dwell is whatever it likes, for a reason nobody thought of.
        restart_missed: a board that should restart did not.
        restart_by_chance: it restarted for another reason.
        overlooked: a person who looks finds as declared what is not.
        imagined: a person who looks finds not as declared what is.
        mismeasured: a person with a meter reports the opposite.
    """

    slip: float = 0.015
    late: float = 0.3
    odd: float = 0.005
    restart_missed: float = 0.05
    restart_by_chance: float = 0.002
    overlooked: float = 0.3
    imagined: float = 0.05
    mismeasured: float = 0.03

    def __post_init__(self) -> None:
        if not all(0 < p < 0.5 for p in vars(self).values()):
            raise ValueError("Each error term lies between 0 and 0.5: with none at all one odd reading would decide.")


DEFAULT_ERRORS = Errors()

Whole = tuple[float, float, float, float]
"""The probability that a dwell is positive, negative, mixed, or restarts the board."""
_POSITIVE, _NEGATIVE, _MIXED = (1.0, 0.0, 0.0, 0.0), (0.0, 1.0, 0.0, 0.0), (0.0, 0.0, 1.0, 0.0)


@cache
def whole(expected: Expectation, held: Held, departing: Departing, errors: Errors) -> Whole:
    """What the dwell is as a whole under an expectation; one with lapses is as it would be without them."""
    first = _plain(expected.sign, held, errors) if expected.by is By.READ else _said(expected, errors)
    if expected.sometimes is None or departing.lapses:
        found = first
    else:
        second = _plain(expected.sometimes, held, errors)
        from_end_to_end = expected.lasting or Sign.RESTART in {expected.sign, expected.sometimes}
        other = second if from_end_to_end else blend([(0.5, second), (0.5, _MIXED)])
        found = blend([(1 - departing.share, first), (departing.share, other)])
    anything = (1 / 3, 1 / 3, 1 / 3, 0.0)
    return blend([(1 - errors.odd, found), (errors.odd, anything)])


def lapsing(expected: Expectation, held: Held, departing: Departing) -> float:
    """The share of readings that lapse: none where an input that floats then sticks where it was anyway."""
    if not departing.lapses or expected.sometimes is None:
        return 0.0
    settled = {Held.HIGH: Sign.POSITIVE, Held.LOW: Sign.NEGATIVE}.get(held, Sign.FLOATING)
    signs = {settled if sign is Sign.FLOATING else sign for sign in (expected.sign, expected.sometimes)}
    if len(signs) == 1 or Sign.RESTART in signs:
        return 0.0
    return departing.share / 2 if Sign.FLOATING in signs else departing.share


def shown(expected: Expectation, held: Held, departing: Departing, errors: Errors) -> Whole:
    """What a dwell of the usual length looks like as a whole: one with a lapse in it is mixed."""
    found = whole(expected, held, departing, errors)
    clean = (1 - lapsing(expected, held, departing)) ** _USUAL_READINGS
    return blend([(clean, found), (1 - clean, _MIXED)])


def slipped(twin: Whole, errors: Errors) -> Whole:
    """What the dwell is when the hand slipped: as in the other test, or mixed where it was only late."""
    return blend([(1 - errors.late, twin), (errors.late, _MIXED)])


def blend(parts: Sequence[tuple[float, Whole]]) -> Whole:
    """The average of several, each with its weight; the weights sum to one."""
    up = down = mixed = restart = 0.0
    for weight, shares in parts:
        up += weight * shares[0]
        down += weight * shares[1]
        mixed += weight * shares[2]
        restart += weight * shares[3]
    return up, down, mixed, restart


class Count(NamedTuple):
    """What was counted in a dwell.

    Attributes:
        positives: readings that were positive.
        readings: how many there were.
        runs: into how many runs the fewer of the two kinds fall; None where that is not on record.
    """

    positives: int
    readings: int
    runs: int | None = None


def chance(is_whole: Whole, count: Count, error: float, errors: Errors, *, lapses: bool = False) -> float:
    """The probability of the count, the board not restarting; with lapses what departs may come in runs."""
    up, down, mixed = _counts(count, error, lapses)
    not_restarted = is_whole[0] * up + is_whole[1] * down + is_whole[2] * mixed
    return (1 - errors.restart_by_chance) * not_restarted


def restart_chance(is_whole: Whole, errors: Errors) -> float:
    """The probability that the board restarts in the dwell."""
    return is_whole[3] + (1 - is_whole[3]) * errors.restart_by_chance


def _plain(sign: Sign, held: Held, errors: Errors) -> Whole:
    if sign is Sign.RESTART:
        missed = errors.restart_missed / 3
        return missed, missed, missed, 1 - errors.restart_missed
    if sign is Sign.FLOATING:
        return {Held.WANDERS: _MIXED, Held.HIGH: _POSITIVE, Held.LOW: _NEGATIVE}[held]
    return _POSITIVE if sign is Sign.POSITIVE else _NEGATIVE


def _said(expected: Expectation, errors: Errors) -> Whole:
    """What a person says, right or wrong."""
    positive = expected.sign is Sign.POSITIVE
    looked = errors.overlooked if positive else errors.imagined
    wrong = looked if expected.by is By.LOOKED else errors.mismeasured
    return (1 - wrong, wrong, 0.0, 0.0) if positive else (wrong, 1 - wrong, 0.0, 0.0)


@cache
def _counts(count: Count, error: float, lapses: bool) -> tuple[float, float, float]:  # noqa: FBT001 - a key of the cache
    """The probability of the count where the dwell is positive, negative and mixed."""
    positives, readings, runs = count
    ways = comb(readings, positives)
    up = ways * (1 - error) ** positives * error ** (readings - positives)
    down = ways * error**positives * (1 - error) ** (readings - positives)
    mixed = ways * exp(log_beta(positives + 0.5, readings - positives + 0.5) - log_beta(0.5, 0.5))
    fewer = min(positives, readings - positives)
    if runs is None or fewer == 0:
        return up, down, mixed
    alone, alike = _alone(fewer, readings, runs), 1 / fewer
    departing = (alone + alike) / 2 if lapses else alone
    return up * departing, down * departing, mixed * alike


def _alone(departing: int, readings: int, runs: int) -> float:
    """The probability of so many runs where each reading departs by itself."""
    return comb(departing - 1, runs - 1) * comb(readings - departing + 1, runs) / comb(readings, departing)
