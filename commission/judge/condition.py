"""A check held against the checks before it: what a serial poll can measure of wear, and when it is too much.

Three questions: does the switch misread, does its reading come to rest more slowly than it used to, and does it change
unasked. One misread of a kind may be a slip of the hand: see `double_sampling`. The limits are common practice, no
source: a settle time that has grown threefold means a
worn switch; more than one nuisance trip in a hundred hours calls for service. A poll measures no settle time shorter
than its gap, so the limit never lies below two of them.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from statistics import fmean

from commission import units
from commission.judge.acceptance import Criterion
from commission.judge.comparison import Alternative, CheckCounts, PooledCounts, fisher_exact, pool
from commission.judge.double_sampling import FIRST_SERIES
from commission.judge.misreads import MISREADS_RULE, Trials, misreads_judged
from commission.judge.nuisance import Exposed
from commission.judge.stability import rate_sentence
from commission.judge.wording import counted
from commission.vocabulary import Verdict

GROWTH_LIMIT = 3.0
GAPS_LIMIT = 2.0
NUISANCE_PER_100_H = 1.0
PAUSE_GROWTH_LIMIT = 1.5
PAUSE_SLACK_S = 2.0
SIGNIFICANCE = 0.01
"""For a change against the baseline: ten checks in a row shall seldom raise a false alarm."""


@dataclass(frozen=True)
class Measured:
    """What one check measured of the switch.

    Attributes:
        label: how it is called in a sentence, as its date.
        in_trials, in_misreads, out_trials, out_misreads: readable trials and those misread (see `Tally`).
        settle_s: of each move, seconds from the first sight of the expected reading until it stayed.
        unwanted_changes: in dwells, at leave-it prompts and while watched, together.
        watched_s: exposure in which no change was wanted, in seconds: see `exposure`.
        cut_short: watches that did not reach the exposure planned for them.
        poll_gap_s: the largest time between two readings that counts as watched.
        time_to_pause_s: from the runout to the pause, if a function test was done.
        apart: what was watched while the machine moved or printed: it is never added to the rest.
        wiring: identity of the wiring; equal means unchanged since.
        firmware: as announced.
        passed: whether the run ended without a fail.
    """

    label: str
    in_trials: int = 0
    in_misreads: int = 0
    out_trials: int = 0
    out_misreads: int = 0
    settle_s: tuple[float, ...] = ()
    unwanted_changes: int = 0
    watched_s: float = 0.0
    cut_short: int = 0
    poll_gap_s: float = 0.1
    time_to_pause_s: float | None = None
    wiring: str = ""
    firmware: str = ""
    passed: bool = True
    apart: tuple[Exposed, ...] = ()

    def __post_init__(self) -> None:
        if not (0 <= self.in_misreads <= self.in_trials and 0 <= self.out_misreads <= self.out_trials):
            raise ValueError(f"The check {self.label} has more misreads than trials.")
        if any(settle < 0 for settle in self.settle_s) or self.unwanted_changes < 0 or self.poll_gap_s < 0:
            raise ValueError(f"The check {self.label} has a time or a count below 0.")

    @property
    def misreads(self) -> int:
        """Of both kinds."""
        return self.in_misreads + self.out_misreads

    @property
    def trials(self) -> int:
        """Of both kinds."""
        return self.in_trials + self.out_trials

    @property
    def mean_settle_s(self) -> float | None:
        """The mean settle time in seconds; None without a move that settled."""
        return fmean(self.settle_s) if self.settle_s else None

    def counts(self) -> CheckCounts:
        """Its misreads of both kinds as counts to pool."""
        return CheckCounts(self.label, self.misreads, self.trials, self.wiring, self.firmware, self.passed)


def comparable(history: Sequence[Measured], now: Measured) -> tuple[list[Measured], PooledCounts]:
    """The checks that may stand beside this one, oldest first, and what their counts and its own come to.

    A check that measured nothing adds nothing and stands in nobody's way. See `pool` for what ends the pooling.
    """
    earlier = [check for check in history if check.trials]
    if not now.trials:
        return [], PooledCounts(0, 0, 0, "this check took no trials")
    pooled = pool([*(check.counts() for check in earlier), now.counts()])
    return earlier[len(earlier) - (pooled.checks - 1) :], pooled


def baseline_of(history: Sequence[Measured], now: Measured) -> list[Measured]:
    """The earlier checks on the same wiring and firmware, none of which failed; oldest first.

    Unlike `comparable` it does not ask whether the counts agree: that is what they are compared for.
    """
    same = []
    for check in reversed([check for check in history if check.trials]):
        if not check.passed or (check.wiring, check.firmware) != (now.wiring, now.firmware):
            break
        same.append(check)
    return same[::-1]


def misread_criteria(
    history: Sequence[Measured], now: Measured, trials: Trials | None = None
) -> tuple[Criterion, Criterion]:
    """No more misreads than the plan allows, and no larger share of them than before, by the exact test.

    Args:
        history: what the checks before measured.
        now: what this one measured.
        trials: of the whole series; those of this check alone if left out.
    """
    if not now.trials:
        none = "This check took no trials."
        return (
            Criterion("misreads", MISREADS_RULE, none, Verdict.NOT_JUDGED),
            Criterion("misreads against the record", _SHARE_RULE, none, Verdict.NOT_JUDGED),
        )
    alone = Trials(FIRST_SERIES, (now.in_trials, now.in_misreads, 0), (now.out_trials, now.out_misreads, 0))
    verdict, observed = misreads_judged(alone if trials is None else trials)
    own = Criterion("misreads", MISREADS_RULE, observed, verdict)
    return own, _share(baseline_of(history, now), history, now)


_SHARE_RULE = f"Share of misreads not larger than before (exact test, p below {SIGNIFICANCE:g} counts)"


def _share(baseline: Sequence[Measured], history: Sequence[Measured], now: Measured) -> Criterion:
    name = "misreads against the record"
    if not baseline:
        alone = "No earlier check may stand beside this one."
        return Criterion(name, _SHARE_RULE, alone, Verdict.NOT_JUDGED, no_record=True)
    failures, trials = sum(check.misreads for check in baseline), sum(check.trials for check in baseline)
    chance = fisher_exact((now.misreads, now.trials - now.misreads), (failures, trials - failures), Alternative.GREATER)
    _, pooled = comparable(history, now)
    observed = f"{now.misreads} of {now.trials} now, {failures} of {trials} before (p = {chance:.3g}). " + (
        f"Together: {pooled.sentence}"
    )
    if chance >= SIGNIFICANCE and pooled.differs:
        observed += f" It is a hint and no fail: that takes p below {SIGNIFICANCE:g}."
    return Criterion(name, _SHARE_RULE, observed, Verdict.FAIL if chance < SIGNIFICANCE else Verdict.PASS)


def settle_limit_s(baseline: Sequence[Measured], poll_gap_s: float) -> float:
    """The mean settle time beyond which the switch counts as worn: max(3 x baseline mean, 2 x poll gap); seconds."""
    before = [settle for check in baseline for settle in check.settle_s]
    return max(GROWTH_LIMIT * (fmean(before) if before else 0.0), GAPS_LIMIT * poll_gap_s)


def settle_criterion(history: Sequence[Measured], now: Measured) -> Criterion:
    """The mean settle time within its limit; beyond it the switch still reads right, and is worn.

    A single slow hand is no worn switch: beyond the limit, the share of moves slower than it must also be larger than
    before by the exact test.
    """
    name, baseline = "settle time", baseline_of(history, now)
    gap = units.seconds(now.poll_gap_s)
    rule = f"Mean not beyond {GROWTH_LIMIT:g} times the record and never judged below {GAPS_LIMIT:g} poll gaps"
    mean_s = now.mean_settle_s
    if mean_s is None:
        return Criterion(name, rule, "No move came to rest in this check.", Verdict.NOT_JUDGED)
    if not any(check.settle_s for check in baseline):
        first = f"Mean {units.seconds(mean_s)}, measured in steps of {gap}; nothing on record to compare with."
        return Criterion(name, rule, first, Verdict.NOT_JUDGED, no_record=True)
    limit_s = settle_limit_s(baseline, now.poll_gap_s)
    slow, before = _slow(now.settle_s, limit_s), _slow([s for check in baseline for s in check.settle_s], limit_s)
    chance = fisher_exact(slow, before, Alternative.GREATER)
    worn = mean_s > limit_s and chance < SIGNIFICANCE
    observed = (
        f"Mean {units.seconds(mean_s)} over {counted(len(now.settle_s), 'move')}, limit {units.seconds(limit_s)}, "
        f"measured in steps of {gap}; {slow[0]} slower than the limit now, {before[0]} of {sum(before)} before "
        f"(p = {chance:.3g})."
    )
    return Criterion(name, rule, observed, Verdict.CONDITIONAL if worn else Verdict.PASS)


def _slow(settle_s: Sequence[float], limit_s: float) -> tuple[int, int]:
    slow = sum(settle > limit_s for settle in settle_s)
    return slow, len(settle_s) - slow


def steadiness_criterion(now: Measured) -> Criterion:
    """No unwanted change in the time watched, and as much of it watched as was planned."""
    name, rule = "steadiness", "No unwanted change in the time watched"
    if now.watched_s > 0:
        observed = rate_sentence(now.unwanted_changes, now.watched_s)
    else:
        observed = f"Nothing was watched; {counted(now.unwanted_changes, 'unwanted change')} seen."
    if now.unwanted_changes:
        return Criterion(name, rule, observed, Verdict.FAIL)
    if now.cut_short:
        observed += " Not every watch could be read for as long as it was planned."
    whole = now.watched_s > 0 and not now.cut_short
    return Criterion(name, rule, observed, Verdict.PASS if whole else Verdict.NOT_JUDGED)


def pause_criterion(history: Sequence[Measured], now: Measured) -> Criterion:
    """The time from runout to pause has not grown."""
    rule = f"Not beyond {PAUSE_GROWTH_LIMIT:g} times the record plus {PAUSE_SLACK_S:g} s"
    if now.time_to_pause_s is None:
        return Criterion("time to pause", rule, "No pause was provoked in this check.", Verdict.NOT_JUDGED)
    before = [check.time_to_pause_s for check in history if check.passed and check.time_to_pause_s is not None]
    if not before:
        observed = f"{units.seconds(now.time_to_pause_s)}; nothing on record to compare with."
        return Criterion("time to pause", rule, observed, Verdict.NOT_JUDGED, no_record=True)
    limit_s = PAUSE_GROWTH_LIMIT * fmean(before) + PAUSE_SLACK_S
    late = now.time_to_pause_s > limit_s
    observed = f"{units.seconds(now.time_to_pause_s)}, limit {units.seconds(limit_s)}."
    return Criterion("time to pause", rule, observed, Verdict.CONDITIONAL if late else Verdict.PASS)


def nuisance_criterion(trips: int, print_hours: float | None) -> Criterion:
    """At most one nuisance trip in a hundred hours of printing, as noted by the people who print.

    Args:
        trips: noted since the last check.
        print_hours: printed since then; None when nobody said.
    """
    rule = f"At most {NUISANCE_PER_100_H:g} noted in 100 hours of printing"
    noted = f"{counted(trips, 'nuisance trip')} noted since the last check"
    if not trips:
        return Criterion("nuisance trips", rule, f"{noted}; one that nobody noted is not counted.", Verdict.PASS)
    if print_hours is None or print_hours <= 0:
        observed = f"{noted}, in an unknown number of hours of printing."
        return Criterion("nuisance trips", rule, observed, Verdict.NOT_JUDGED)
    rate = 100 * trips / print_hours
    verdict = Verdict.CONDITIONAL if rate > NUISANCE_PER_100_H else Verdict.PASS
    return Criterion("nuisance trips", rule, f"{noted}, {rate:.2g} in 100 hours.", verdict)


def condition_criteria(
    history: Sequence[Measured], now: Measured, trials: Trials | None = None
) -> tuple[Criterion, ...]:
    """Every comparison of the switch itself, in the order in which the record prints them; see `misread_criteria`."""
    return (
        *misread_criteria(history, now, trials),
        settle_criterion(history, now),
        steadiness_criterion(now),
        pause_criterion(history, now),
    )


def overall(criteria: Sequence[Criterion], needed: Collection[str], beyond: Collection[str] = ()) -> Verdict:
    """The verdict on a check: no part of what it stands for is dropped because it was not judged, or is not there.

    A fail fails the whole. Else a needed part without a judgement leaves the whole not judged, and any other one makes
    it conditional. Only what the check does not stand for, and what has no record to be compared with yet, may be not
    judged beside the verdict.

    Args:
        criteria: everything that was looked at.
        needed: names of the parts without which there is no verdict.
        beyond: names of the parts that the check does not stand for.
    """
    verdicts = {criterion.verdict for criterion in criteria}
    if Verdict.FAIL in verdicts:
        return Verdict.FAIL
    judged = {criterion.name for criterion in criteria if criterion.verdict is not Verdict.NOT_JUDGED}
    if not judged or not judged.issuperset(needed):
        return Verdict.NOT_JUDGED
    less = Verdict.CONDITIONAL in verdicts or left_open(criteria, beyond)
    return Verdict.CONDITIONAL if less else Verdict.PASS


def left_open(criteria: Sequence[Criterion], beyond: Collection[str] = ()) -> tuple[str, ...]:
    """Which parts of what the check stands for were not judged, though there was something to judge them by."""
    return tuple(
        criterion.name
        for criterion in criteria
        if criterion.verdict is Verdict.NOT_JUDGED and criterion.name not in beyond and not criterion.no_record
    )
