"""The trials of a series held against their plan: what each kind shows, and what a check makes of both."""

from dataclasses import dataclass

from commission.judge.demonstration import bound_sentence
from commission.judge.double_sampling import FIRST_SERIES, Decision, SamplingPlan, decide
from commission.judge.trial import Came
from commission.judge.wording import counted
from commission.vocabulary import Verdict

_Judged = tuple[Verdict, str]
_IN, _OUT = "Read out with filament in", "Read in with filament out"
_WORST = (Verdict.FAIL, Verdict.NOT_JUDGED, Verdict.CONDITIONAL, Verdict.PASS)
MISREADS_RULE = f"No misread; with one of a kind, {FIRST_SERIES.with_one} trials of it; at the second the series ends"


def kind_judged(sampling: SamplingPlan, what: str, counts: tuple[int, int, int], confidence: float = 0.95) -> _Judged:
    """The verdict on the trials of one kind, and what they show.

    Args:
        sampling: the numbers of trials that a pass takes.
        what: a misread of this kind in words.
        counts: trials that stand, those of them that were misread, and those set aside before their dwell.
        confidence: of the bound.
    """
    trials, misreads, aside = counts
    came = [Came.WRONG] * misreads + [Came.SET_ASIDE] * aside + [Came.RIGHT] * (trials - misreads)
    kind = decide(sampling, came)
    apart = f" {counted(aside, 'trial')} set aside before its dwell, or not finished." if aside else ""
    observed = bound_sentence(what, misreads, trials, confidence) + apart
    match kind.decision:
        case Decision.ACCEPTED:
            return Verdict.PASS, f"{what}: {misreads} of {counted(trials, 'trial')}.{apart} {sampling.shows}."
        case Decision.REJECTED:
            return Verdict.FAIL, f"{observed} The second misread of a kind ends the series."
        case Decision.SPOILT:
            return Verdict.NOT_JUDGED, f"{observed} Only one of a kind may be misread or set aside."
        case Decision.CONDITIONAL:
            return (
                Verdict.CONDITIONAL,
                f"{observed} {kind.still_needed} more of this kind without a misread make a pass.",
            )
    least = sampling.clean if kind.blemished else sampling.conditional
    return (
        Verdict.NOT_JUDGED,
        f"{observed} Fewer than {least} trials decide nothing{' then' if kind.blemished else ''}.",
    )


@dataclass(frozen=True)
class Trials:
    """The trials of a series as a check judges them.

    Attributes:
        sampling: the numbers of trials that a pass takes.
        filament_in, filament_out: of each kind the trials that stand, those misread, and those set aside before their
            dwell.
    """

    sampling: SamplingPlan
    filament_in: tuple[int, int, int]
    filament_out: tuple[int, int, int]


def _kind(sampling: SamplingPlan, what: str, counts: tuple[int, int, int]) -> _Judged:
    trials, _, _ = counts
    return kind_judged(sampling, what, counts) if trials else (Verdict.NOT_JUDGED, f"{what}: no trial could be read.")


def misreads_judged(trials: Trials) -> _Judged:
    """A check without a blemish passes with as few trials as it takes; with one it takes what a pass takes."""
    kinds = ((_IN, trials.filament_in), (_OUT, trials.filament_out))
    judged = [_kind(trials.sampling, what, counts) for what, counts in kinds]
    verdicts = {verdict for verdict, _ in judged}
    clean = not any(misreads or aside for _, (_, misreads, aside) in kinds)
    worst = next(verdict for verdict in _WORST if verdict in verdicts)
    verdict = Verdict.PASS if clean and worst is Verdict.CONDITIONAL else worst
    return verdict, " ".join(said for _, said in judged)
