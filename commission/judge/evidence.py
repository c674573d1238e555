"""What a loop check found, as counts: the argument of `accept`."""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.judge.failsafe import UnpluggedResult
from commission.judge.polarity import PREDICTIONS, TrialResult
from commission.vocabulary import Presence, SwitchBehaviour


@dataclass(frozen=True)
class Tally:
    """Trials and misreads of each presence; trials without a majority are counted apart."""

    in_trials: int
    in_misreads: int
    out_trials: int
    out_misreads: int
    unreadable_trials: int


def tally(trials: Sequence[TrialResult], behaviour: SwitchBehaviour) -> Tally:
    """Count the misreads of a series of trials, without *leave it* prompts, from the first.

    A misread is a trial that does not read as the polarity found says; where no polarity was found, as direct says.
    """
    inverted = behaviour is SwitchBehaviour.INVERTED
    expected = PREDICTIONS[SwitchBehaviour.INVERTED if inverted else SwitchBehaviour.DIRECT]
    readable = [trial for trial in trials if trial.readable]
    wrong = [trial for trial in readable if trial.majority is not expected[trial.presence]]
    return Tally(
        in_trials=sum(trial.presence is Presence.IN for trial in readable),
        in_misreads=sum(trial.presence is Presence.IN for trial in wrong),
        out_trials=sum(trial.presence is Presence.OUT for trial in readable),
        out_misreads=sum(trial.presence is Presence.OUT for trial in wrong),
        unreadable_trials=len(trials) - len(readable),
    )


@dataclass(frozen=True)
class WiggleResult:
    """What was read while the cable and its connectors were moved.

    Attributes:
        readings: how many were taken.
        duration_s: over how long, in seconds.
        changes: unwanted changes among them.
        largest_gap_s: the longest time between two of them, if known.
        misreads: readings that contradict the presence declared for the wiggle; steady and wrong is no pass.
    """

    readings: int
    duration_s: float
    changes: int
    largest_gap_s: float | None = None
    misreads: int = 0

    def __post_init__(self) -> None:
        if not 0 <= self.changes <= max(0, self.readings - 1) or not self.duration_s >= 0:
            raise ValueError(
                f"A wiggle of {self.readings} readings in {self.duration_s} s cannot hold {self.changes} changes."
            )
        if not 0 <= self.misreads <= self.readings:
            raise ValueError(f"A wiggle of {self.readings} readings cannot hold {self.misreads} misreads.")


@dataclass(frozen=True)
class LoopEvidence:
    """Everything the loop check found, as counts.

    Attributes:
        polarity: the finding of the polarity rule, or NOT_REPORTED.
        in_trials: readable trials with filament in.
        in_misreads: those of them that were misread (nuisance trips).
        out_trials: readable trials with filament out.
        out_misreads: those of them that were misread (missed runouts).
        unwanted_changes_in_dwells: changes of the reading inside all dwells, trials and leave-it prompts alike.
        leave_it_trials: prompts at which the filament was left as it was.
        leave_it_changes: those of them during which the reading changed, from the prompt to the end of the dwell.
        wiggle: None if it was not done.
        unplugged: one per power-up.
        polarity_odds: likeliest to runner-up, if the rule was applied.
        voided_trials: trials the operator set aside with a reason.
        unreadable_trials: trials without a majority.
        moving: the second wiggle, hands off with the machine moving; None if it was not done.
        at_sensor: unplugged at the sensor, the cable still on the board; None if it was not done.
    """

    polarity: SwitchBehaviour
    in_trials: int
    in_misreads: int
    out_trials: int
    out_misreads: int
    unwanted_changes_in_dwells: int
    leave_it_trials: int
    leave_it_changes: int
    wiggle: WiggleResult | None
    unplugged: tuple[UnpluggedResult, ...]
    polarity_odds: float | None = None
    voided_trials: int = 0
    unreadable_trials: int = 0
    moving: WiggleResult | None = None
    at_sensor: UnpluggedResult | None = None

    def __post_init__(self) -> None:
        pairs = (
            ("misreads with filament in", self.in_misreads, self.in_trials),
            ("misreads with filament out", self.out_misreads, self.out_trials),
            ("changes at leave-it prompts", self.leave_it_changes, self.leave_it_trials),
        )
        for what, part, whole in pairs:
            if not 0 <= part <= whole:
                raise ValueError(f"There cannot be {part} {what} among {whole}.")
        if min(self.unwanted_changes_in_dwells, self.voided_trials, self.unreadable_trials) < 0:
            raise ValueError("Counts of changes and of trials set aside begin at 0.")
