"""What was established of the series of trials."""

from commission.evidence.findings.base import Finding
from commission.judge.trial_series import Begun


class TrialSeries(Finding, frozen=True, kw_only=True, tag="trial_series"):
    """Which series of trials these are counted in, and what it holds already.

    Attributes:
        series: as in `bench-3/2`.
        begun: why it began.
        change: what was done before it began.
        runs: the runs in which its trials stand so far.
        failed_before: the runs in which earlier series of this printer failed.
        in_misreads, out_misreads: trials that read wrong or were set aside so far, of each kind.
        rule: what a pass takes.
    """

    series: str
    begun: Begun
    change: str = ""
    runs: tuple[str, ...] = ()
    failed_before: tuple[str, ...] = ()
    in_trials: int = 0
    in_misreads: int = 0
    out_trials: int = 0
    out_misreads: int = 0
    rule: str = ""


class ChangeMade(Finding, frozen=True, kw_only=True, tag="change_made"):
    """Something was repaired or changed since trials read wrong; whoever says so signs for it."""

    what: str
    by: str


class ExaminedNothingFound(Finding, frozen=True, kw_only=True, tag="examined_nothing_found"):
    """After a fail everything was looked at and no cause was found; whoever says so signs for it."""

    what: str
    by: str
