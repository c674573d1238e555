"""The series of trials of every printer, fed the records in the order of the book.

All trials count that were taken, whichever run they stand in: those of a phase that was broken off too, those that were
set aside, and those in which the run was ended. What begins and what ends a series stands in `judge.trial_series`.
Of a printer with several sensors each has a series of its own, from the run on in which they were tested together.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from commission.evidence.entry import AnyRecord, Entry
from commission.evidence.exposed import MOVING, WIGGLE
from commission.evidence.findings import loop
from commission.evidence.findings.base import Finding
from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.meeting import Repair
from commission.evidence.findings.series import ChangeMade, ExaminedNothingFound
from commission.evidence.findings.several import SensorBegun, SensorsJudged
from commission.evidence.found import Established
from commission.evidence.measured import Moves, Trial, TrialBegan, Watch, WatchBrokenOff
from commission.evidence.power_ups_left import PowerUpsLeft
from commission.evidence.runs import (
    REWIRING,
    Note,
    PhaseAbandoned,
    PhaseEnded,
    PhaseStarted,
    RunEnded,
    RunResumed,
    RunStarted,
)
from commission.evidence.sensor_phase import plain_phase
from commission.evidence.standing import TAKEN_BACK
from commission.judge.double_sampling import Decision
from commission.judge.plan import Plan
from commission.judge.stability import unwanted_changes
from commission.judge.trial import TimedTrial
from commission.judge.trial_series import NOTHING_SO_FAR, Begun, Counts, SeriesSoFar
from commission.vocabulary import Instruction, Presence, Spoken, SwitchBehaviour, Verdict

PHASES = frozenset({"loop_check", "proof_test"})
"""The phases whose trials are counted."""
UNPLUGS = frozenset({"loop_check", "power_off_test"})
"""The phases in which the sensor is unplugged."""
STILL = frozenset({WIGGLE, MOVING})
"""Watches, and test moves, in which no change is wanted."""
OF_HANDS = frozenset({"polarity", "misreads", "wiggle", "steadiness", "unplugged", "unplugged at the sensor"})
"""What a check judges of the sensor itself: a fail in one of these ends the series."""
KINDS: tuple[type[Entry], ...] = (
    *(RunStarted, RunResumed, RunEnded, PhaseStarted, PhaseEnded, PhaseAbandoned),
    *(TrialBegan, Trial, Watch, WatchBrokenOff, Moves, Established, Note),
)
"""The entries that tell of series."""


@dataclass
class _Open:
    """What of a run is not concluded yet.

    Attributes:
        phase: in which it is, if that is one whose trials are counted.
        began: the prompt whose trial has not come to its end.
        changes: by the key of the watch, changes that the phase has not been judged by yet.
        power_ups: with the sensor unplugged, that nothing has been judged by yet.
        sensor: which of several is under test; empty for the only one.
        begun: the sensors that this run has begun with.
    """

    tag: str
    plan: Plan | None = None
    phase: str = ""
    began: TrialBegan | None = None
    changes: dict[str, int] = field(default_factory=dict)
    power_ups: PowerUpsLeft = field(default_factory=PowerUpsLeft)
    sensor: str = ""
    begun: set[str] = field(default_factory=set)


class AllSeries:
    """The series of every printer of a book."""

    def __init__(self, records: Iterable[AnyRecord] = ()) -> None:
        self._now: dict[tuple[str, str], SeriesSoFar] = {}
        self._only: dict[str, str] = {}
        self._runs: dict[str, _Open] = {}
        self._at: dict[tuple[str, str], SeriesSoFar] = {}
        for record in records:
            self.take(record)

    def of(self, tag: str, sensor: str = "") -> SeriesSoFar:
        """The newest series as it stands, of the printer's only sensor or of one of several.

        One of several that was the only one before goes on with the series that it had then.
        """
        before = "" if self._only.get(tag) == sensor else sensor
        return self._now.get((tag, sensor), self._now.get((tag, before), NOTHING_SO_FAR))

    def next_run(self, tag: str, sensor: str = "") -> SeriesSoFar:
        """The series that a run which begins now takes its trials in; see `_rolled`."""
        return _rolled(self.of(tag, sensor))

    def sensors(self, tag: str) -> tuple[str, ...]:
        """The sensors of the printer that have series of their own, or would have if several were tested now."""
        own = tuple(sensor for each, sensor in self._now if each == tag and sensor)
        only = self._only.get(tag, "")
        return (*own, only) if only and only not in own else own

    def at_start_of(self, run: str, phase: str) -> SeriesSoFar:
        """As it stood when that phase of that run was begun last."""
        return self._at.get((run, phase), NOTHING_SO_FAR)

    def settle(self, run: str) -> None:
        """That run was broken off without an end on record: what was under way in it came to none."""
        if run in self._runs:
            self._leave(run, self._runs[run])
            self._leave_power_ups(run, self._runs[run])

    def take(self, record: AnyRecord) -> None:
        """Take the next record of the book."""
        match record.entry:
            case Note(tag_of_printer=tag, what=what, text=text):
                if what == REWIRING:
                    self._changed(tag, text)
            case RunStarted(tag=tag, plan=plan):
                self._runs[record.run] = _Open(tag, plan)
                self._now[tag, ""] = _rolled(self.of(tag))
            case _ if record.run in self._runs:
                self._of_run(record, self._runs[record.run])

    def _changed(self, tag: str, what: str) -> None:
        """Something of the printer's wiring was changed; which sensor's is not told, so that it counts for each."""
        self._now.setdefault((tag, ""), NOTHING_SO_FAR)
        for each, sensor in list(self._now):
            if each == tag:
                self._now[tag, sensor] = self._now[tag, sensor].changed(what)

    def _begin_sensor(self, run: _Open, sensor: str) -> None:
        """What comes now is counted for this sensor; in each run a series is rolled once."""
        if sensor not in run.begun:
            self._now[run.tag, sensor] = _rolled(self.of(run.tag, sensor))
            run.begun.add(sensor)
        run.sensor = sensor

    def _of_run(self, record: AnyRecord, run: _Open) -> None:
        run.power_ups.take(record.entry)
        match record.entry:
            case PhaseStarted(name=name) if plain_phase(name) in UNPLUGS:  # done again, it is judged anew
                self._leave_power_ups(record.run, run)
            case PhaseAbandoned() | RunEnded() | RunResumed():
                self._leave_power_ups(record.run, run)
        if isinstance(record.entry, TrialBegan | Trial):
            self._prompted(record, run)
            return
        match record.entry:
            case PhaseStarted(name=name):
                self._leave(record.run, run)
                run.phase = name if plain_phase(name) in PHASES else ""
                self._at[record.run, name] = self.of(run.tag, run.sensor)
            case PhaseEnded():
                run.phase, run.changes = "", {}
            case PhaseAbandoned() | RunEnded() | RunResumed():
                self._leave(record.run, run)
                if isinstance(record.entry, RunResumed):
                    run.sensor = ""
            case Watch() | WatchBrokenOff() | Moves() if run.phase and record.entry.key in STILL:
                seen = unwanted_changes([each.reading for each in record.entry.readings])
                run.changes[record.entry.key] = run.changes.get(record.entry.key, 0) + seen
            case Established(finding=finding):
                self._found(record.run, run, finding)

    def _prompted(self, record: AnyRecord, run: _Open) -> None:
        """A prompt, or the trial that came of it; without others the sensor is the printer's only one."""
        match record.entry:
            case TrialBegan() as began if run.phase:
                self._unfinished(record.run, run)
                run.began = began
            case Trial() as trial if run.phase:
                run.began = None
                if not run.sensor:
                    self._only[run.tag] = trial.switch
                self._trial(record.run, run, trial)

    def _trial(self, number: str, run: _Open, trial: Trial) -> None:
        if trial.void_reason and trial.spoken is None:  # as runs set trials aside before it was known when
            return
        trials = list(self.of(run.tag, run.sensor).trials)
        if trial.void_before and trials:
            trials[-1] = replace(trials[-1], spoken=trials[-1].spoken or Spoken.LATER)
        self._holds(number, run, (*trials, trial.timed))

    def _unfinished(self, number: str, run: _Open) -> None:
        """A prompt without a trial: the run was ended in it, and what it would have read nobody knows."""
        if run.began is None:
            return
        moved = run.began.instruction is not Instruction.LEAVE
        trial = TimedTrial(run.began.presence, moved, (), (), finished=False)
        run.began = None
        self._holds(number, run, (*self.of(run.tag, run.sensor).trials, trial))

    def _leave(self, number: str, run: _Open) -> None:
        """A phase that did not come to its end was not judged; what was seen in it stays."""
        self._unfinished(number, run)
        if changes := sum(run.changes.values()):
            series = self.of(run.tag, run.sensor)
            self._now[run.tag, run.sensor] = replace(
                series, watch_changes=series.watch_changes + changes, runs=_with(series.runs, number)
            )
        run.phase, run.changes = "", {}

    def _leave_power_ups(self, number: str, run: _Open) -> None:
        """Power-ups that were read and left without a judgement stay, as far as they speak against the wiring."""
        bad, left_open = run.power_ups.left()
        if bad or left_open:
            series = self.of(run.tag, run.sensor)
            self._now[run.tag, run.sensor] = replace(
                series,
                unplugged_bad=series.unplugged_bad + bad,
                unplugged_open=series.unplugged_open + left_open,
                runs=_with(series.runs, number),
            )

    def _holds(self, number: str, run: _Open, trials: tuple[TimedTrial, ...]) -> None:
        series = self.of(run.tag, run.sensor)
        self._now[run.tag, run.sensor] = replace(series, trials=trials, runs=_with(series.runs, number))

    def _found(self, number: str, run: _Open, finding: Finding) -> None:
        series = self.of(run.tag, run.sensor)
        run.power_ups.found(finding)
        for kind, key, _ in TAKEN_BACK:
            if isinstance(finding, kind):
                run.changes.pop(key, None)
        match finding:
            case Repair(repair=repair):
                self._changed(run.tag, repair.value)
            case SensorBegun(sensor=sensor):
                self._begin_sensor(run, sensor)
            case SensorsJudged():
                run.sensor = ""
            case ChangeMade(what=what):
                self._now[run.tag, run.sensor] = series.changed(what)
            case ExaminedNothingFound():
                self._now[run.tag, run.sensor] = series.examined()
            case loop.Acceptance(verdict=verdict):
                self._judged(number, run, failed=verdict is Verdict.FAIL)
            case CheckJudged(unattended=False, criteria=criteria):
                failed = any(each.verdict is Verdict.FAIL and each.name in OF_HANDS for each in criteria)
                self._judged(number, run, failed=failed)

    def _judged(self, number: str, run: _Open, *, failed: bool) -> None:
        """A series ends with a fail of whatever was tried of the sensor, or when both kinds of trials are accepted."""
        series = self.of(run.tag, run.sensor)
        run.power_ups.judged()
        if failed:
            self._now[run.tag, run.sensor] = replace(series, came_to=Verdict.FAIL, runs=_with(series.runs, number))
        elif series.came_to is None and accepted(series, run.plan):
            self._now[run.tag, run.sensor] = replace(series, came_to=Verdict.PASS)


def accepted(series: SeriesSoFar, plan: Plan | None) -> bool:
    """Whether both kinds of its trials are accepted."""
    sampling = series.sampling(Plan(seed=0) if plan is None else plan)
    counts = Counts.of(series.trials, SwitchBehaviour.DIRECT)
    return all(counts.standing(presence, sampling).decision is Decision.ACCEPTED for presence in Presence)


def _rolled(series: SeriesSoFar) -> SeriesSoFar:
    """A run that begins begins a series too, unless the one before it failed, or holds what that would hide."""
    if series.came_to is Verdict.PASS:
        return series.after(Begun.RECHECK)
    return series.after(Begun.ANEW) if series.runs and not series.blemished else series


def _with(runs: tuple[str, ...], number: str) -> tuple[str, ...]:
    return runs if number in runs[-1:] else (*runs, number)
