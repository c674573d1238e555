"""Whether two counts differ, and which earlier counts may be added to the latest ones."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from commission.judge.wording import confidence_words, counted


class Alternative(Enum):
    """Which departure from "no difference" counts."""

    BOTH = "two-sided"
    LESS = "the first share is smaller"
    GREATER = "the first share is larger"


def fisher_exact(first: tuple[int, int], second: tuple[int, int], alternative: Alternative = Alternative.BOTH) -> float:
    """Probability of a table at least this far from "no difference", the margins being given; no unit.

    Formula: hypergeometric, P(a) = C(a+b, a) C(c+d, c) / C(n, a+c); two-sided sums every table that is no likelier
    than the one observed. Integers are compared, so ties are exact. Source: Fisher's exact test.

    Args:
        first: counts of the one kind and the other in the first group, such as misreads and clean trials.
        second: the same in the second group.
        alternative: one-sided or two-sided.

    Raises:
        ValueError: a negative count.
    """
    a, b = first
    c, d = second
    if min(a, b, c, d) < 0:
        raise ValueError(f"Counts begin at 0; this table has {first} and {second}.")
    rows, column = (a + b, c + d), a + c
    possible = range(max(0, column - rows[1]), min(rows[0], column) + 1)
    ways = {x: math.comb(rows[0], x) * math.comb(rows[1], column - x) for x in possible}
    if alternative is Alternative.LESS:
        extreme = sum(way for x, way in ways.items() if x <= a)
    elif alternative is Alternative.GREATER:
        extreme = sum(way for x, way in ways.items() if x >= a)
    else:
        extreme = sum(way for way in ways.values() if way <= ways[a])
    # true division of integers is correctly rounded however large they are
    return extreme / sum(ways.values())


@dataclass(frozen=True)
class CheckCounts:
    """The trials of one check, and what it was done on.

    Attributes:
        label: how the check is called in a sentence, such as its date.
        failures: misreads of one kind.
        trials: trials of that kind.
        wiring: identity of the wiring; equal means unchanged since.
        firmware: identity of the firmware; equal means not reflashed with another build.
        passed: whether the run ended without a fail.
    """

    label: str
    failures: int
    trials: int
    wiring: str
    firmware: str
    passed: bool

    def __post_init__(self) -> None:
        if not 0 <= self.failures <= self.trials:
            raise ValueError(f"The check {self.label} cannot have {self.failures} failures in {self.trials} trials.")


@dataclass(frozen=True)
class PooledCounts:
    """Counts added up as far back as they may be.

    Attributes:
        failures: in all checks that were pooled.
        trials: in all of them.
        checks: how many checks those are; the latest is always one.
        stopped_by: why the check before was not added; empty when there was none.
        differs: it was not added because its counts differ from those after it.
    """

    failures: int
    trials: int
    checks: int
    stopped_by: str
    differs: bool = False

    @property
    def sentence(self) -> str:
        """What was pooled and where the pooling ended."""
        pooled = f"{self.failures} of {self.trials} over {counted(self.checks, 'check')}"
        return f"{pooled}; earlier ones are left out: {self.stopped_by}." if self.stopped_by else f"{pooled}."


DIFFERS = "differs from those after it at"


def pool(checks: Sequence[CheckCounts], significance: float = 0.05) -> PooledCounts:
    """Add earlier checks to the latest one, from the newest back, as long as each may be added.

    A check may be added while wiring and firmware are those of the latest, neither it nor one after it failed, and
    Fisher's two-sided test finds no difference between it and what is pooled already. The first that may not ends it.

    Args:
        checks: from the oldest to the latest.
        significance: a difference with a probability below this counts as one.

    Raises:
        ValueError: no check, or a significance outside 0 to 1.
    """
    if not checks or not 0 < significance < 1:
        raise ValueError("Pooling takes at least one check and a significance between 0 and 1.")
    *earlier, latest = checks
    failures, trials, count = latest.failures, latest.trials, 1
    for check in reversed(earlier):
        reason = _kept_apart(check, latest, (failures, trials - failures), significance)
        if reason:
            return PooledCounts(failures, trials, count, reason, differs=DIFFERS in reason)
        failures, trials, count = failures + check.failures, trials + check.trials, count + 1
    return PooledCounts(failures, trials, count, "")


def _kept_apart(check: CheckCounts, latest: CheckCounts, pooled: tuple[int, int], significance: float) -> str:
    if not latest.passed:
        return f"the check {latest.label} failed, and a failed run is judged by itself"
    if not check.passed:
        return f"the check {check.label} failed"
    if check.wiring != latest.wiring:
        return f"the wiring was changed after {check.label}"
    if check.firmware != latest.firmware:
        return f"the firmware was changed after {check.label}"
    chance = fisher_exact((check.failures, check.trials - check.failures), pooled)
    if chance < significance:
        level = confidence_words(1 - significance)
        return f"the check {check.label} {DIFFERS} {level} confidence (p = {chance:.3g})"
    return ""
