"""The trends of a printer over its checks, from what they measured, as pictures to draw."""

from collections.abc import Sequence

from commission.drawing.trend import Trend
from commission.judge.condition import Measured, baseline_of, settle_limit_s
from commission.judge.nuisance import Around, bound_per_hour, rate_bounds

APART = {Around.MOVING: "beside moving motors", Around.PRINTING: "in a print"}
"""What is drawn beside the trends at rest, where it was watched."""


def trends_of(checks: Sequence[Measured]) -> list[Trend]:
    """Misreads, settle time, unwanted changes, time to pause, oldest check first; what nobody measured is left out."""
    labels = tuple(_labels(checks))
    settle_ms = tuple(None if check.mean_settle_s is None else 1000 * check.mean_settle_s for check in checks)
    pause_s = tuple(check.time_to_pause_s for check in checks)
    per_hour = tuple(3600 * c.unwanted_changes / c.watched_s if c.watched_s > 0 else None for c in checks)
    misreads = tuple(100 * check.misreads / check.trials if check.trials else None for check in checks)
    limit_s = settle_limit_s(baseline_of(checks[:-1], checks[-1]), checks[-1].poll_gap_s) if checks else 0.0
    found = (
        Trend("Misread trials", "%", labels, misreads, limit=0.0, digits=1),
        Trend("Mean settle time", "ms", labels, settle_ms, limit=1000 * limit_s),
        Trend("Unwanted changes", "an hour", labels, per_hour, limit=0.0, digits=1),
        Trend("Unwanted changes, at most", "an hour", labels, tuple(map(_at_most, checks)), digits=1),
        *(
            Trend(f"Unwanted changes {when}, at most", "an hour", labels, _apart(checks, around), digits=1)
            for around, when in APART.items()
        ),
        Trend("Time to pause", "s", labels, pause_s, digits=1),
    )
    return [trend for trend in found if any(value is not None for value in trend.values)]


def _apart(checks: Sequence[Measured], around: Around) -> tuple[float | None, ...]:
    """The bound of each check under that condition alone, by its own exposure."""
    bounds = [{each.around: each.per_hour for each in rate_bounds(check.apart)} for check in checks]
    return tuple(each.get(around) for each in bounds)


def _at_most(check: Measured) -> float | None:
    """The bound of one check at rest, by its own exposure."""
    return bound_per_hour(check.watched_s, check.unwanted_changes) if check.watched_s > 0 else None


def _labels(checks: Sequence[Measured]) -> list[str]:
    """The day of each check; the second of one day gets a number."""
    seen: dict[str, int] = {}
    labels = []
    for check in checks:
        seen[check.label] = seen.get(check.label, 0) + 1
        labels.append(check.label if seen[check.label] == 1 else f"{check.label} ({seen[check.label]})")
    return labels
