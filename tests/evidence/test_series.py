"""The series of trials over the runs of a printer: what begins one, what ends one, and what none of it can delete."""

from collections.abc import Iterator, Sequence
from itertools import count

import pytest

from commission.evidence.entry import AnyRecord, Entry
from commission.evidence.findings.cause import CheckJudged
from commission.evidence.findings.loop import Acceptance, Criterion, WiggleSetAside
from commission.evidence.findings.meeting import Repair
from commission.evidence.findings.series import ChangeMade, ExaminedNothingFound
from commission.evidence.measured import Readings, TimedReading, Trial, TrialBegan, Watch, WatchBrokenOff
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
from commission.evidence.series import AllSeries
from commission.judge.advice import Advice
from commission.judge.double_sampling import SamplingPlan
from commission.judge.plan import Plan
from commission.judge.trial import Came
from commission.judge.trial_series import Begun, Counts, SeriesSoFar
from commission.vocabulary import Instruction, Presence, Reading, Spoken, SwitchBehaviour, Verdict
from tests.support.made import found, made, on_record

TAG = "bench-3"
USUAL = Plan(seed=1)
A, N = Reading.ACTIVE, Reading.INACTIVE


def readings(seen: Sequence[Reading]) -> Readings:
    """Ten a second."""
    return tuple(TimedReading(0.1 * place, reading, "") for place, reading in enumerate(seen))


def trial(*, right: bool = True, **more: object) -> Trial:
    """An insertion that reads right or wrong."""
    kind = {"instruction": Instruction.INSERT, "presence": Presence.IN}
    return made(Trial, dwell=readings([A if right else N] * 21), **kind, **more)


def taken(right: int, wrong: int = 0) -> list[Entry]:
    """So many insertions and as many withdrawals that read right, and misread insertions behind them."""
    out = made(Trial, dwell=readings([N] * 21), instruction=Instruction.WITHDRAW, presence=Presence.OUT)
    return [*[trial(), out] * right, *[trial(right=False)] * wrong]


def in_phase(*entries: Entry, ended: bool = True) -> list[Entry]:
    """A loop check with these entries, which came to its end or was abandoned."""
    end = PhaseEnded(name="loop_check") if ended else PhaseAbandoned(name="loop_check", why="a stop")
    return [PhaseStarted(name="loop_check", title=""), *entries, end]


def judged(verdict: Verdict) -> Entry:
    """The loop check's verdict."""
    return found(Acceptance, verdict=verdict)


class Record:
    """The runs of one printer, entry by entry."""

    def __init__(self) -> None:
        self.series = AllSeries()
        self.written: list[AnyRecord] = []
        self._number = count(1)
        self._sequence = count(1)
        self.run_number = ""

    def run(self, *entries: Entry, ended: bool = True, plan: Plan | None = USUAL) -> SeriesSoFar:
        """A run with these entries; the series as it stands behind it."""
        self.run_number = f"{TAG}/2031-03-14/{next(self._number)}"
        begun = made(RunStarted, number=self.run_number, tag=TAG, plan=plan)
        return self.write([begun, *entries, *([made(RunEnded)] if ended else [])])

    def write(self, entries: Sequence[Entry]) -> SeriesSoFar:
        """Entries of the newest run."""
        for record in self._records(entries):
            self.series.take(record)
            self.written.append(record)
        return self.series.of(TAG)

    def _records(self, entries: Sequence[Entry]) -> Iterator[AnyRecord]:
        for entry in entries:
            yield on_record(entry, next(self._sequence), run=self.run_number)


def kinds(series: SeriesSoFar) -> tuple[int, int, int]:
    """Trials with filament in, those that read wrong, and those set aside."""
    kind = Counts.of(series.trials, SwitchBehaviour.DIRECT).kind(Presence.IN)
    return len(kind), kind.count(Came.WRONG), kind.count(Came.SET_ASIDE)


def test_a_series_begins_with_the_installation() -> None:
    """The first run of a printer takes its trials in series 1."""
    series = Record().run(*in_phase(*taken(6), judged(Verdict.CONDITIONAL)))

    assert (1, Begun.INSTALLATION, None, (6, 0, 0)) == (series.number, series.begun, series.came_to, kinds(series))


def test_a_pass_ends_it_and_the_next_check_begins_another() -> None:
    """Twenty-two clean trials of each kind are accepted, whatever else leaves the check conditional."""
    record = Record()
    passed = record.run(*in_phase(*taken(22), judged(Verdict.CONDITIONAL)))
    after = record.run()

    assert Verdict.PASS is passed.came_to
    assert (2, Begun.RECHECK, ()) == (after.number, after.begun, after.trials)


@pytest.mark.parametrize(
    ("plan", "trials", "came_to"),
    [
        (Plan(seed=1, cycles=30), 29, None),
        (Plan(seed=1, cycles=30), 30, Verdict.PASS),
        (None, 21, None),
        (None, 22, Verdict.PASS),
    ],
)
def test_a_pass_takes_what_was_planned(plan: Plan | None, trials: int, came_to: Verdict | None) -> None:
    """With more cycles in the plan it takes more trials of each kind; a run that named no plan has the usual one."""
    series = Record().run(*in_phase(*taken(trials), judged(Verdict.CONDITIONAL)), plan=plan)

    assert came_to is series.came_to


def test_a_new_run_does_not_delete_a_misread() -> None:
    """A run that was ended after a misread and begun anew counts on."""
    record = Record()
    record.run(*in_phase(*taken(5, wrong=1), ended=False))
    series = record.run(*in_phase(*taken(6)))

    assert (1, (12, 1, 0)) == (series.number, kinds(series))
    assert 2 == len(series.runs)


def test_a_clean_run_that_ended_short_is_begun_anew() -> None:
    """There is nothing in it that a new beginning would hide."""
    record = Record()
    record.run(*in_phase(*taken(6), judged(Verdict.CONDITIONAL)))
    series = record.run()

    assert (2, Begun.ANEW) == (series.number, series.begun)


def test_a_run_taken_up_again_counts_on() -> None:
    """Trials of the phase that was broken off count beside those of the phase done again."""
    record = Record()
    record.run(*in_phase(*taken(4), ended=False), ended=False)
    series = record.write([made(RunResumed, number=record.run_number, tag=TAG), *in_phase(*taken(6))])

    assert (1, (10, 0, 0)) == (series.number, kinds(series))


@pytest.mark.parametrize("end", [PhaseAbandoned(name="loop_check", why="a stop"), made(RunResumed), made(RunEnded)])
def test_a_prompt_without_a_trial_is_counted_as_set_aside(end: Entry) -> None:
    """Whoever ends the run when the lamp of the sensor tells of a misread gains nothing by it."""
    record = Record()
    began = made(TrialBegan, instruction=Instruction.INSERT, presence=Presence.IN)
    record.run(PhaseStarted(name="loop_check", title=""), *taken(3), began, ended=False)
    series = record.write([end])

    assert (4, 0, 1) == kinds(series)


def test_a_prompt_without_a_trial_is_counted_once() -> None:
    """Its phase is abandoned, the run ends, and is settled once more: it was one prompt all the same."""
    record = Record()
    began = made(TrialBegan, instruction=Instruction.INSERT, presence=Presence.IN)
    record.run(PhaseStarted(name="loop_check", title=""), began, PhaseAbandoned(name="loop_check", why="a stop"))
    record.series.settle(record.run_number)
    series = record.write([PhaseStarted(name="loop_check", title=""), *taken(1), made(RunEnded)])

    assert (2, 0, 1) == kinds(series)


def test_a_prompt_with_its_trial_is_one_trial() -> None:
    """It is not counted once more as set aside when its phase is broken off later."""
    began = made(TrialBegan, instruction=Instruction.INSERT, presence=Presence.IN)

    assert (1, 0, 0) == kinds(Record().run(*in_phase(began, trial(), ended=False)))


@pytest.mark.parametrize(("instruction", "moved"), [(Instruction.WITHDRAW, True), (Instruction.LEAVE, False)])
def test_a_prompt_without_a_trial_keeps_what_it_asked_for(instruction: Instruction, *, moved: bool) -> None:
    """Whether the filament was to be moved, and where it was to be."""
    began = made(TrialBegan, instruction=instruction, presence=Presence.OUT)
    (unfinished,) = Record().run(*in_phase(began, ended=False)).trials

    assert (Presence.OUT, moved, False) == (unfinished.presence, unfinished.moved, unfinished.finished)


def test_a_phase_begun_anew_knows_of_the_prompt_before_it() -> None:
    """A phase that was left without a word of its end had a prompt under way: the next one begins with it set aside."""
    record = Record()
    began = made(TrialBegan, instruction=Instruction.INSERT, presence=Presence.IN)
    loop_check = PhaseStarted(name="loop_check", title="")
    record.run(loop_check, began, loop_check, ended=False)

    assert (1, 0, 1) == kinds(record.series.at_start_of(record.run_number, "loop_check"))


def test_a_prompt_that_another_follows_is_counted_as_set_aside() -> None:
    """No run goes on to the next prompt without a trial; a record that says so hides nothing."""
    began = made(TrialBegan, instruction=Instruction.INSERT, presence=Presence.IN)
    series = Record().run(PhaseStarted(name="loop_check", title=""), began, began, ended=False)

    assert (1, 0, 1) == kinds(series)


def test_a_kill_leaves_the_prompt_under_way_set_aside() -> None:
    """A run without any end on record is settled when it is taken up again."""
    record = Record()
    began = made(TrialBegan, instruction=Instruction.INSERT, presence=Presence.IN)
    record.run(PhaseStarted(name="loop_check", title=""), began, ended=False)
    record.series.settle(record.run_number)

    assert (1, 0, 1) == kinds(record.series.of(TAG))


def test_a_trial_set_aside_later_during_the_next_counts_by_what_it_read() -> None:
    """What read right is dropped, what read wrong stays a misread."""
    dropped = Record().run(*in_phase(trial(), trial(void_before="it slipped")))
    wrong = Record().run(*in_phase(trial(right=False), trial(void_before="it slipped")))

    assert ((1, 0, 0), (2, 1, 0)) == (kinds(dropped), kinds(wrong))


def test_trials_that_an_earlier_release_set_aside_stay_out() -> None:
    """It did not record when they were; their run was judged by the rules of its time."""
    series = Record().run(*in_phase(trial(void_reason="it slipped"), trial(void_reason="now", spoken=Spoken.BEFORE)))

    assert (1, 0, 1) == kinds(series)


@pytest.mark.parametrize(
    ("entry", "begun", "what"),
    [
        (found(Repair, repair=Advice.CHANGE_CONTACT), Begun.CHANGE, Advice.CHANGE_CONTACT.value),
        (found(ChangeMade, what="new cable", by="R. Okafor"), Begun.CHANGE, "new cable"),
        (made(Note, tag_of_printer=TAG, what=REWIRING, text="crimped anew"), Begun.CHANGE, "crimped anew"),
        (found(ExaminedNothingFound, what="all of it", by="R. Okafor"), Begun.EXAMINED, ""),
    ],
)
def test_after_a_fail_a_series_begins_with_what_is_signed_for(entry: Entry, begun: Begun, what: str) -> None:
    """It names what was done; that the one before it failed, and where, stays on record."""
    record = Record()
    record.run(*in_phase(*taken(3, wrong=2), judged(Verdict.FAIL)))
    failed_in = record.run_number
    series = record.run(entry)

    assert (2, begun, what, (failed_in,)) == (series.number, series.begun, series.change, series.failed_before)
    assert () == series.trials


def test_a_change_before_the_first_run_is_named_by_its_series() -> None:
    """Noted while the printer has no run yet, it is what the first series begins with."""
    record = Record()
    record.write([made(Note, tag_of_printer=TAG, what=REWIRING, text="crimped anew")])
    series = record.run(*in_phase(*taken(6)))

    assert (1, Begun.CHANGE, "crimped anew") == (series.number, series.begun, series.change)


def test_a_fail_stands_by_the_run_that_it_was_found_in() -> None:
    """Also where another run was begun before the one was taken up again in which the series failed."""
    record = Record()
    record.run(*in_phase(*taken(3, wrong=1), ended=False))
    failed_in = record.run_number
    record.run(*in_phase(*taken(3), ended=False))
    record.run_number = failed_in
    record.write([made(RunResumed), *in_phase(*taken(3, wrong=1), judged(Verdict.FAIL))])
    series = record.run(found(ChangeMade, what="new cable", by="R. Okafor"))

    assert (failed_in,) == series.failed_before


def test_without_a_change_a_failed_series_stands() -> None:
    """However clean the next run is, it is counted with it and does not pass."""
    record = Record()
    record.run(*in_phase(*taken(3, wrong=2), judged(Verdict.FAIL)))
    series = record.run(*in_phase(*taken(22)))

    assert (1, Verdict.FAIL) == (series.number, series.came_to)


def test_only_one_second_series_follows_an_examination() -> None:
    """After the second fail an examination begins none: something has to be changed."""
    record = Record()
    record.run(*in_phase(*taken(3, wrong=2), judged(Verdict.FAIL)))
    examined = found(ExaminedNothingFound, what="all of it", by="R. Okafor")
    second = record.run(examined, *in_phase(*taken(3, wrong=2), judged(Verdict.FAIL)))
    third = record.run(examined)

    assert ((27, 44), Verdict.FAIL) == ((sampling(second).clean, sampling(second).with_one), second.came_to)
    assert (2, Verdict.FAIL) == (third.number, third.came_to)


def sampling(series: SeriesSoFar) -> SamplingPlan:
    """By the plan of a run that was begun as usual."""
    return series.sampling(USUAL)


@pytest.mark.parametrize(("name", "came_to"), [("wiggle", Verdict.FAIL), ("settings", None)])
def test_a_check_ends_a_series_only_by_what_hands_found(name: str, came_to: Verdict | None) -> None:
    """Drifted settings fail a check, and say nothing of the sensor."""
    failed = Criterion(name=name, rule="", observed="", verdict=Verdict.FAIL)
    series = Record().run(*in_phase(*taken(6)), found(CheckJudged, unattended=False, criteria=(failed,)))

    assert came_to is series.came_to


WIGGLED = [A, A, N, A]


def test_changes_in_a_watch_that_was_broken_off_are_kept() -> None:
    """Ended in it, or before it was judged, a wiggle that showed a change counts on."""
    ended_in_it = made(WatchBrokenOff, key="wiggle", readings=readings(WIGGLED))
    not_judged = made(Watch, key="wiggle", readings=readings(WIGGLED))

    assert 2 == Record().run(*in_phase(ended_in_it, ended=False)).watch_changes
    assert 2 == Record().run(*in_phase(not_judged, ended=False)).watch_changes
    assert 0 == Record().run(*in_phase(not_judged)).watch_changes
    assert 0 == Record().run(*in_phase(not_judged, found(WiggleSetAside), ended=False)).watch_changes


def test_changes_that_were_wanted_or_are_of_no_loop_check_are_none_of_a_series() -> None:
    """A watch of another kind may change, and a wiggle of a diagnosis looks for a cause."""
    start_up = made(Watch, key="start_up", readings=readings(WIGGLED))
    wiggle = made(Watch, key="wiggle", readings=readings(WIGGLED))

    assert 0 == Record().run(*in_phase(start_up, ended=False)).watch_changes
    assert 0 == Record().run(PhaseStarted(name="diagnosis", title=""), wiggle).watch_changes


def test_a_phase_worked_out_again_counts_from_where_it_began() -> None:
    """What the loop check found before it began is known by the run and the phase."""
    record = Record()
    record.run(*in_phase(*taken(5, wrong=1), ended=False), *in_phase(*taken(6)))

    assert (6, 1, 0) == kinds(record.series.at_start_of(record.run_number, "loop_check"))


def test_trials_of_a_diagnosis_are_counted_in_no_series() -> None:
    """They are taken to find a cause, not to accept a sensor."""
    series = Record().run(PhaseStarted(name="diagnosis", title=""), *taken(3, wrong=3))

    assert () == series.trials


def test_another_printer_has_its_own_series() -> None:
    """A fail of one says nothing of the other."""
    record = Record()
    record.run(*in_phase(*taken(3, wrong=2), judged(Verdict.FAIL)))

    assert SeriesSoFar() == record.series.next_run("bench-4")


def test_a_change_at_one_printer_begins_no_series_of_another() -> None:
    """Nor does a remark, or a trial whose run has no beginning on record."""
    record = Record()
    failed = record.run(*in_phase(*taken(3, wrong=2), judged(Verdict.FAIL)))
    record.write([made(Note, tag_of_printer="bench-4", what=REWIRING, text="crimped anew")])
    record.write([made(Note, tag_of_printer=TAG, what="remark", text="dusty")])
    record.run_number = "bench-3/2031-03-14/77"
    record.write(taken(1))

    assert failed == record.series.of(TAG)
    assert (1, Verdict.FAIL) == (failed.number, failed.came_to)


def test_a_book_read_at_once_tells_the_same_series() -> None:
    """What stands does not depend on whether the records came one by one or all together."""
    record = Record()
    series = record.run(*in_phase(*taken(3, wrong=1)))

    assert (4, 1, 0) == kinds(series)
    assert series == AllSeries(record.written).of(TAG)
