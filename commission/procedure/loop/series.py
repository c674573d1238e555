"""Which series the trials are counted in, and what was done since trials before it read wrong."""

from commission.asking.message import Tell, Weight
from commission.asking.request import Choose, Enter, Option
from commission.asking.steps import Steps, choose, enter, establish
from commission.evidence.findings.series import ChangeMade, ExaminedNothingFound, TrialSeries
from commission.judge.plan import Plan
from commission.judge.trial import Came
from commission.judge.trial_series import Counts, SeriesSoFar
from commission.vocabulary import Presence, SwitchBehaviour, Verdict

CHANGED, EXAMINED, NOTHING = "changed", "examined", "nothing"


def continued(series: SeriesSoFar, operator: str) -> Steps[SeriesSoFar]:
    """The series in which the trials count that come now; where the one before it went wrong, what was done since.

    A change, and an examination, begin a new series. Whoever says so has their name in the record.

    Args:
        series: as the record has it.
        operator: who does the check.
    """
    if not series.blemished:
        return series
    answer = yield from choose(Choose("series.since", "What was done since?", _options(series), _so_far(series)))
    if answer == CHANGED:
        what = yield from enter(Enter("series.what", "What was repaired or changed?"))
        said = f"Changed since the trials before: {what.rstrip('.')}, says {operator}. A new series of trials begins."
        yield from establish(ChangeMade(sentences=(said,), what=what, by=operator))
        return series.changed(what)
    if answer == EXAMINED:
        what = yield from enter(Enter("series.examined", "What was looked at?"))
        said = f"Examined, nothing found, says {operator}: {what.rstrip('.')}. One second series of trials begins."
        yield from establish(ExaminedNothingFound(sentences=(said,), what=what, by=operator))
        return series.examined()
    if series.came_to is Verdict.FAIL:
        said = "The failed series stands: whatever is read now, this check does not pass without a recorded change."
        yield Tell((said,), weight=Weight.CAUTION)
    return series


def named(series: SeriesSoFar, tag: str, plan: Plan) -> Steps[None]:
    """Say in which series the trials count, and what it holds already."""
    counts = Counts.of(series.trials, SwitchBehaviour.DIRECT)
    kinds = {presence: counts.kind(presence) for presence in Presence}
    wrong = {presence: sum(came is not Came.RIGHT for came in kind) for presence, kind in kinds.items()}
    rule = series.sampling(plan).rule
    said = [f"Series {series.number} of this printer, begun by: {series.begun.value}{_named(series.change)}."]
    if series.failed_before:
        said.append(f"Earlier series failed in: {', '.join(series.failed_before)}.")
    if series.trials:
        said.append(
            f"It holds {len(kinds[Presence.IN])} trials with filament in ({wrong[Presence.IN]} misread or set aside) "
            f"and {len(kinds[Presence.OUT])} with filament out ({wrong[Presence.OUT]}), from {', '.join(series.runs)}."
        )
    yield from establish(
        TrialSeries(
            sentences=(*said, f"A pass takes, of each kind, {rule}."),
            series=f"{tag}/{series.number}",
            begun=series.begun,
            change=series.change,
            runs=series.runs,
            failed_before=series.failed_before,
            in_trials=len(kinds[Presence.IN]),
            in_misreads=wrong[Presence.IN],
            out_trials=len(kinds[Presence.OUT]),
            out_misreads=wrong[Presence.OUT],
            rule=rule,
        )
    )


def _named(change: str) -> str:
    return f" ({change.rstrip('.')})" if change else ""


def _so_far(series: SeriesSoFar) -> tuple[str, ...]:
    runs = ", ".join(series.runs)
    if series.came_to is Verdict.FAIL:
        return (f"Series {series.number} of this printer failed: {runs}.",)
    return (
        f"Series {series.number} of this printer holds readings that went wrong, power-ups that were broken off "
        f"after they read in, or trials that were set aside: {runs}.",
        "They count on, unless something was changed.",
    )


def _options(series: SeriesSoFar) -> tuple[Option, ...]:
    changed = Option(CHANGED, "something was repaired or changed", "it is named, and a new series begins")
    examined = Option(EXAMINED, "all was examined, nothing was found", "one second series, which takes more trials")
    nothing = Option(NOTHING, "nothing", "the trials before count on")
    return (changed, examined, nothing) if series.may_be_examined else (changed, nothing)
