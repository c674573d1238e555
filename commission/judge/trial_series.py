"""A series of trials: what it holds so far, over all the runs in which it was taken, and where each kind stands.

A series begins with an installation, after a recorded change, or with the first check after a pass. It ends with a pass
or a fail. Stopping, taking up again and beginning anew delete nothing of it. After a fail that an examination could not
explain one second series may follow; it takes more trials.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from enum import Enum

from commission.judge.double_sampling import FIRST_SERIES, SECOND_SERIES, SamplingPlan, Standing, decide, for_cycles
from commission.judge.plan import PASS_CYCLES, Plan
from commission.judge.trial import Came, Counted, TimedTrial, counted_trials
from commission.vocabulary import Presence, Spoken, SwitchBehaviour, Verdict


class Begun(Enum):
    """Why a series began."""

    INSTALLATION = "installation"
    CHANGE = "a recorded change"
    RECHECK = "the first check after a pass"
    ANEW = "a new run; in the trials before it nothing had read wrong"
    EXAMINED = "examined, nothing found"


@dataclass(frozen=True)
class SeriesSoFar:
    """What of a series stands on record already.

    Attributes:
        number: from 1, for each printer.
        begun: why it began.
        trials: all of them, first to last, whichever run they stand in.
        watch_changes: unwanted changes in watches that were broken off.
        unplugged_bad: power-ups that were broken off after the unplugged input had read other than out.
        unplugged_open: such in which it had read in before it was known whether the sensor was unplugged.
        runs: numbers of the runs that its trials stand in.
        failed_before: numbers of the runs in which earlier series failed.
        came_to: PASS or FAIL once it has ended; None while it goes on.
        change: what was done before it began, in the words of whoever did it.
    """

    number: int = 1
    begun: Begun = Begun.INSTALLATION
    trials: tuple[TimedTrial, ...] = ()
    watch_changes: int = 0
    unplugged_bad: int = 0
    unplugged_open: int = 0
    runs: tuple[str, ...] = ()
    failed_before: tuple[str, ...] = ()
    came_to: Verdict | None = None
    change: str = ""

    @property
    def blemished(self) -> bool:
        """Whether it holds something that a new beginning would hide."""
        counts = Counts.of(self.trials, SwitchBehaviour.DIRECT)
        bad = {Came.WRONG, Came.SET_ASIDE}
        return bool(
            self.came_to is Verdict.FAIL
            or self.watch_changes
            or self.unplugged_bad
            or self.unplugged_open
            or counts.dwell_changes
            or counts.leave_changes
            or any(each.came in bad for each in counts.trials)
        )

    def after(self, begun: Begun, change: str = "") -> "SeriesSoFar":
        """The series that follows this one; what had failed is remembered."""
        failed = (*self.failed_before, *self.runs[-1:]) if self.came_to is Verdict.FAIL else self.failed_before
        return SeriesSoFar(self.number + 1, begun, failed_before=failed, change=change)

    def changed(self, what: str) -> "SeriesSoFar":
        """The series after a recorded change; one without trials is the new one already."""
        return self.after(Begun.CHANGE, what) if self.runs else replace(self, begun=Begun.CHANGE, change=what)

    def examined(self) -> "SeriesSoFar":
        """The second series after a fail that an examination could not explain; a second one has no successor."""
        return self if not self.may_be_examined else self.after(Begun.EXAMINED)

    @property
    def may_be_examined(self) -> bool:
        """Whether a second series may follow this one."""
        return self.came_to is Verdict.FAIL and self.begun is not Begun.EXAMINED

    def sampling(self, plan: Plan) -> SamplingPlan:
        """The numbers of trials that a pass takes; never fewer than were planned."""
        least = SECOND_SERIES if self.begun is Begun.EXAMINED else FIRST_SERIES
        return for_cycles(least, plan.cycles)


NOTHING_SO_FAR = SeriesSoFar()


@dataclass(frozen=True)
class Counts:
    """What the trials of a series come to.

    Attributes:
        trials: each as it counts.
    """

    trials: tuple[Counted, ...] = ()

    @classmethod
    def of(cls, trials: Sequence[TimedTrial], behaviour: SwitchBehaviour) -> "Counts":
        """The trials counted by the polarity found; where none was found, as if it were direct."""
        return cls(counted_trials(trials, behaviour))

    def kind(self, presence: Presence) -> tuple[Came, ...]:
        """Of the trials with filament in, or out: what each that counts came to."""
        return tuple(each.came for each in self.trials if each.trial.presence is presence and each.is_of_its_kind)

    def number(self, came: Came) -> int:
        """How many trials came to that."""
        return sum(each.came is came for each in self.trials)

    @property
    def dwell_changes(self) -> int:
        """Unwanted changes of the input in all dwells."""
        return sum(each.changes for each in self.trials)

    @property
    def leave_trials(self) -> int:
        """Leave-it prompts that count."""
        return sum(each.stands and not each.trial.moved for each in self.trials)

    @property
    def leave_changes(self) -> int:
        """Leave-it prompts at which the input changed by itself."""
        return sum(each.leave_change for each in self.trials)

    def standing(self, presence: Presence, sampling: SamplingPlan) -> Standing:
        """Where the trials of that kind stand."""
        return decide(sampling, self.kind(presence))


@dataclass(frozen=True)
class Goal:
    """How many trials of a kind are to be taken now.

    Attributes:
        sampling: what a pass takes.
        cycles: as planned; fewer than a pass takes are a short check, whose best result is a conditional pass.
    """

    sampling: SamplingPlan
    cycles: int

    def reached(self, kind: Standing) -> bool:
        """Whether no more trials of that kind are to be taken."""
        return kind.ended or kind.trials >= self.trials(kind)

    def trials(self, kind: Standing) -> int:
        """The number of trials at which that kind ends, as it stands."""
        if self.cycles >= PASS_CYCLES:
            return self.sampling.with_one if kind.blemished else self.sampling.clean
        return self.sampling.clean if kind.blemished else self.cycles


@dataclass
class Tally:
    """Trials as they are taken, behind those that the series holds already.

    Attributes:
        so_far: what stands on record.
        now: taken in this phase, first to last.
    """

    so_far: SeriesSoFar = NOTHING_SO_FAR
    now: list[TimedTrial] = field(default_factory=list)
    _counted: dict[SwitchBehaviour, Counts] = field(default_factory=dict)

    def add(self, trial: TimedTrial) -> None:
        """Take the next trial."""
        self.now.append(trial)
        self._counted.clear()

    def set_last_aside(self) -> None:
        """The newest trial was set aside after its dwell; one that was already set aside before stays so."""
        if self.now:
            self.now[-1] = replace(self.now[-1], spoken=self.now[-1].spoken or Spoken.LATER)
            self._counted.clear()

    def counts(self, behaviour: SwitchBehaviour) -> Counts:
        """All trials of the series."""
        if behaviour not in self._counted:
            self._counted[behaviour] = Counts.of((*self.so_far.trials, *self.now), behaviour)
        return self._counted[behaviour]

    def counts_now(self, behaviour: SwitchBehaviour) -> Counts:
        """The trials of this phase alone."""
        return Counts(self.counts(behaviour).trials[len(self.so_far.trials) :])
