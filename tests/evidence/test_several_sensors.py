"""A printer with several sensors: whose each trial, watch and change is.

Two sensors are tested one after the other in one run. What one of them did never helps or harms the other; what was
done to the printer's wiring counts for both, as nobody says whose wire it was.
"""

from collections.abc import Sequence
from itertools import count

import pytest

from commission.dialect.sources.report import SourceKind
from commission.evidence.about import told_by
from commission.evidence.entry import NOTHING_TOLD, About, Entry
from commission.evidence.findings.loop import Acceptance, SwitchNamed
from commission.evidence.findings.meeting import IdentityAfterReflash, Repair, TakenOver
from commission.evidence.findings.series import ChangeMade, ExaminedNothingFound, TrialSeries
from commission.evidence.findings.several import SensorBegun, SensorsJudged
from commission.evidence.measured import MovesBegan, TimedReading, Trial, TrialBegan, Watch, WatchBegan
from commission.evidence.runs import REWIRING, Note, PhaseEnded, PhaseStarted, RunEnded, RunResumed, RunStarted
from commission.evidence.sensor_phase import phase_of, phases_of, plain_phase
from commission.evidence.series import AllSeries
from commission.evidence.soaked import SoakBegan
from commission.evidence.standing import Standing
from commission.evidence.stands import Why
from commission.judge.plan import Plan
from commission.judge.trial_series import NOTHING_SO_FAR, Begun
from commission.vocabulary import Instruction, Presence, Reading, Verdict
from tests.support.made import RUN, found, made, on_record

TAG = "bench-3"
LEFT, RIGHT = "filament", "filament2"
BOTH_JUDGED = found(SensorsJudged, verdict=Verdict.CONDITIONAL)


def steady(reading: Reading, seconds: float = 2.0) -> tuple[TimedReading, ...]:
    """Ten a second, all alike."""
    return tuple(TimedReading(0.1 * place, reading, "") for place in range(int(10 * seconds) + 1))


def trial(switch: str = LEFT, *, right: bool = True) -> Trial:
    """An insertion at this sensor that reads right or wrong."""
    dwell = steady(Reading.ACTIVE if right else Reading.INACTIVE)
    return made(Trial, switch=switch, instruction=Instruction.INSERT, presence=Presence.IN, dwell=dwell)


def begins(sensor: str) -> Entry:
    """From here on this sensor is tested."""
    return found(SensorBegun, sensor=sensor, number=1, sensors=2)


def loop(sensor: str, *entries: Entry, name: str = "loop_check") -> list[Entry]:
    """This sensor's turn: a loop check with these entries in it."""
    phase = phase_of(name, sensor)
    return [begins(sensor), PhaseStarted(name=phase, title=""), *entries, PhaseEnded(name=phase)]


class Runs:
    """The runs of one printer, one after the other."""

    def __init__(self) -> None:
        self.series = AllSeries()
        self._number, self._sequence = count(1), count(1)
        self.run = ""

    def write(self, entries: Sequence[Entry], *, begun: bool = True, ended: bool = True) -> AllSeries:
        """A run with these entries, or more of the newest one."""
        if begun:
            self.run = f"{TAG}/2031-03-14/{next(self._number)}"
        head = [made(RunStarted, number=self.run, tag=TAG, plan=Plan(seed=1))] if begun else []
        for entry in (*head, *entries, *([made(RunEnded)] if ended else [])):
            self.series.take(on_record(entry, next(self._sequence), run=self.run))
        return self.series


def trials(series: AllSeries, sensor: str = "") -> int:
    """How many trials the newest series of this sensor has."""
    return len(series.of(TAG, sensor).trials)


def test_what_follows_the_verdicts_is_counted_for_neither() -> None:
    """Trials behind the verdict on each sensor are not those of the last one."""
    after = [PhaseStarted(name="proof_test", title=""), trial(), PhaseEnded(name="proof_test")]
    series = Runs().write([*loop(RIGHT, trial(RIGHT)), BOTH_JUDGED, *after])

    assert (1, 1) == (trials(series, RIGHT), trials(series))


def test_each_sensor_has_its_trials_alone() -> None:
    """Tested in one run, one after the other, neither is helped by the other's."""
    series = Runs().write([*loop(LEFT, trial(), trial()), *loop(RIGHT, trial(RIGHT)), BOTH_JUDGED])

    assert (2, 1, 0) == (trials(series, LEFT), trials(series, RIGHT), trials(series))
    assert (LEFT, RIGHT) == series.sensors(TAG)
    assert () == series.sensors("bench-4")


def test_a_fail_of_one_ends_the_series_of_one() -> None:
    """It stays failed in the next run; the other one's trials were clean, and it begins anew."""
    failed = found(Acceptance, verdict=Verdict.FAIL)
    series = Runs().write([*loop(LEFT, trial(right=False), failed), *loop(RIGHT, trial(RIGHT)), BOTH_JUDGED])

    assert (Verdict.FAIL, None) == (series.of(TAG, LEFT).came_to, series.of(TAG, RIGHT).came_to)
    assert Verdict.FAIL is series.next_run(TAG, LEFT).came_to
    assert Begun.ANEW is series.next_run(TAG, RIGHT).begun


def test_a_run_begins_one_series_of_each_sensor() -> None:
    """After clean trials that ended short each sensor begins anew; one whose turn comes twice in a run goes on."""
    runs = Runs()
    runs.write([*loop(LEFT, trial()), *loop(RIGHT, trial(RIGHT)), BOTH_JUDGED])
    turns = [*loop(LEFT, trial()), *loop(RIGHT, trial(RIGHT)), *loop(LEFT, trial(), name="proof_test")]
    series = runs.write([*turns, BOTH_JUDGED])

    assert (2, 2) == (series.of(TAG, LEFT).number, trials(series, LEFT))
    assert (2, 1) == (series.of(TAG, RIGHT).number, trials(series, RIGHT))


def test_a_sensor_that_was_the_only_one_goes_on_with_its_series() -> None:
    """Once a second one is fitted the first keeps what it had, a misread here; the second begins with nothing."""
    runs = Runs()
    runs.write([PhaseStarted(name="loop_check", title=""), trial(right=False), PhaseEnded(name="loop_check")])
    before = (trials(runs.series, LEFT), trials(runs.series, RIGHT), runs.series.sensors(TAG))
    series = runs.write([*loop(LEFT, trial()), *loop(RIGHT, trial(RIGHT)), BOTH_JUDGED])

    assert (1, 0, (LEFT,)) == before
    assert (2, 1) == (trials(series, LEFT), trials(series, RIGHT))


@pytest.mark.parametrize(
    "change",
    [
        made(Note, tag_of_printer=TAG, what=REWIRING, text="a new cable"),
        found(Repair),
    ],
    ids=["noted", "repaired"],
)
def test_a_changed_wiring_counts_for_every_sensor(change: Entry) -> None:
    """Nobody says whose wire it was: both begin a new series."""
    runs = Runs()
    runs.write([*loop(LEFT, trial()), *loop(RIGHT, trial(RIGHT)), BOTH_JUDGED, change])

    nexts = [runs.series.next_run(TAG, sensor) for sensor in (LEFT, RIGHT)]
    assert [(Begun.CHANGE, 0)] * 2 == [(each.begun, len(each.trials)) for each in nexts]


def test_a_change_said_of_one_sensor_is_that_ones() -> None:
    """Said in its turn it begins a new series of it; looked at and nothing found, an old fail stays."""
    runs = Runs()
    failed = found(Acceptance, verdict=Verdict.FAIL)
    runs.write([*loop(LEFT, trial(right=False), failed), *loop(RIGHT, trial(RIGHT)), BOTH_JUDGED])
    series = runs.write([begins(LEFT), found(ChangeMade, what="another contact"), begins(RIGHT)])

    assert Begun.CHANGE is series.of(TAG, LEFT).begun
    assert Begun.CHANGE is not series.of(TAG, RIGHT).begun

    examined = Runs()
    examined.write([*loop(LEFT, trial(right=False), failed), BOTH_JUDGED])
    looked_at = examined.write([begins(LEFT), found(ExaminedNothingFound)]).of(TAG, LEFT)
    assert Begun.CHANGE is not looked_at.begun


def test_a_run_taken_up_again_belongs_to_no_sensor_yet() -> None:
    """What comes before the next sensor begins is counted for none of them."""
    runs = Runs()
    runs.write(loop(LEFT, trial()), ended=False)
    resumed = made(RunResumed)
    again = [PhaseStarted(name="loop_check", title=""), trial(RIGHT), PhaseEnded(name="loop_check")]
    series = runs.write([resumed, *again], begun=False)

    assert (1, 0) == (trials(series, LEFT), trials(series, RIGHT) - trials(series))


def test_a_prompt_without_a_trial_is_its_sensors() -> None:
    """The run broke off in it; settled, that counts as an unfinished trial of the sensor whose turn it was."""
    runs = Runs()
    prompt = made(TrialBegan, switch=RIGHT, instruction=Instruction.INSERT, presence=Presence.IN)
    turn = loop(RIGHT, prompt)[:-1]
    runs.write([*loop(LEFT, trial()), *turn], ended=False)
    runs.series.settle(runs.run)
    runs.series.settle("bench-3/2031-03-14/99")

    assert (1, 1) == (trials(runs.series, LEFT), trials(runs.series, RIGHT))
    assert not runs.series.of(TAG, RIGHT).trials[0].finished


def test_the_series_at_the_start_of_a_phase_is_kept() -> None:
    """So that a run that is taken up again judges its phase by the same trials."""
    runs = Runs()
    runs.write(loop(LEFT, trial(right=False)))
    series = runs.write(loop(LEFT, trial()))

    assert 2 == trials(series, LEFT)
    assert 1 == len(series.at_start_of(runs.run, phase_of("loop_check", LEFT)).trials)
    assert NOTHING_SO_FAR == series.at_start_of(runs.run, "wiring")


def test_what_stands_of_one_sensor_leaves_the_other_out() -> None:
    """Its trials and power-ups, and what belongs to none; a turn of the other takes nothing of it back."""
    at_board = made(Watch, key="unplugged.1", readings=steady(Reading.INACTIVE))
    entries = [*loop(LEFT, trial(), at_board), *loop(RIGHT, trial(RIGHT)), BOTH_JUDGED]
    standing = Standing(on_record(entry, place) for place, entry in enumerate(entries, 1)).run(RUN)
    left, right = standing.of_sensor(LEFT), standing.of_sensor(RIGHT)

    assert [[None], [None]] == [[item.why for item in each.of(Trial)] for each in (left, right)]
    assert [1, 0] == [len(each.of(Watch)) for each in (left, right)]
    assert [1, 0] == [len(each.power_ups) for each in (left, right)]
    assert (LEFT, RIGHT) == tuple(item.sensor for item in standing.of(Trial))
    assert left.newest(SensorsJudged) == right.newest(SensorsJudged) is not None


def test_what_is_taken_up_again_belongs_to_no_sensor_yet() -> None:
    """What is seen before the next sensor begins stands beside all of them; a changed build begins a new exposure."""
    wiggle = made(Watch, key="wiggle", readings=steady(Reading.ACTIVE, 60.0))
    entries = [begun_run(), begins(LEFT), made(RunResumed), trial(), wiggle]
    standing = Standing(on_record(entry, place) for place, entry in enumerate(entries, 1))

    assert [""] == [item.sensor for item in standing.run(RUN).of(Trial)]
    assert [0, 1] == [len(standing.exposed(TAG, sensor)) for sensor in (LEFT, "")]
    standing.take(on_record(found(IdentityAfterReflash), 99))
    assert [] == standing.exposed(TAG)


def test_a_finding_of_one_sensor_does_not_replace_the_others() -> None:
    """Each has its own name settled; the same one settled again does replace it."""
    entries = [
        *(begins(LEFT), found(SwitchNamed, switch=LEFT)),
        *(begins(RIGHT), found(SwitchNamed, switch=RIGHT)),
        found(SwitchNamed, switch=RIGHT),
    ]
    standing = Standing(on_record(entry, place) for place, entry in enumerate(entries, 1)).run(RUN)
    named = [item for item in standing.of(Entry) if isinstance(getattr(item.entry, "finding", None), SwitchNamed)]

    assert [None, Why.REPLACED, None] == [item.why for item in named]


@pytest.mark.parametrize(
    ("changed", "left"),
    [
        (found(Repair), 0),
        (found(IdentityAfterReflash), 0),
        (made(Note, tag_of_printer=TAG, what=REWIRING), 0),
        (made(Note, tag_of_printer=TAG, what="remark"), 1),
        (made(Note, tag_of_printer="bench-4", what=REWIRING), 1),
    ],
    ids=["repaired", "reflashed", "wired anew", "a remark", "another printer"],
)
def test_what_was_watched_is_told_of_its_sensor(changed: Entry, left: int) -> None:
    """A minute of wiggle at one says nothing about the other, and it is void once the printer is another one."""
    wiggle = made(Watch, key="wiggle", readings=steady(Reading.ACTIVE, 60.0))
    entries = [begun_run(), *loop(LEFT, wiggle), begins(RIGHT), BOTH_JUDGED]
    standing = Standing(on_record(entry, place) for place, entry in enumerate(entries, 1))

    assert [1, 0, 0] == [len(standing.exposed(TAG, sensor)) for sensor in (LEFT, RIGHT, "")]
    standing.take(on_record(changed, 99))
    assert left == len(standing.exposed(TAG, LEFT))


def test_without_a_change_on_record_all_that_was_watched_counts() -> None:
    """From the first entry of the book on."""
    wiggle = made(Watch, key="wiggle", readings=steady(Reading.ACTIVE, 60.0))

    assert [60.0] == [round(each.seconds, 6) for each in Standing([on_record(wiggle, 1)]).exposed(TAG)]


def begun_run() -> RunStarted:
    """The entry that begins the run."""
    return made(RunStarted, number=RUN, tag=TAG, plan=Plan(seed=1))


@pytest.mark.parametrize(
    "entry",
    [
        made(TrialBegan, switch=RIGHT),
        trial(RIGHT),
        made(WatchBegan, switch=RIGHT),
        made(Watch, switch=RIGHT),
        made(MovesBegan, switch=RIGHT),
        made(SoakBegan, switch=RIGHT),
        found(SwitchNamed, switch=RIGHT),
        begins(RIGHT),
    ],
    ids=lambda entry: type(entry).__name__,
)
def test_an_entry_that_names_a_sensor_turns_to_it(entry: Entry) -> None:
    """What comes behind it belongs to that sensor, read from the switch states; series and bench stay."""
    before = About(LEFT, "", "4", "bench-a")

    assert About(RIGHT, SourceKind.SWITCH_LINE.value, "4", "bench-a") == told_by(entry, before)


def test_what_follows_the_verdicts_belongs_to_no_sensor() -> None:
    """The bench is the same for all; a series is named by its own finding."""
    named = told_by(found(TrialSeries, series="7"), NOTHING_TOLD)

    assert "7" == named.series
    assert About(bench="bench-a") == told_by(BOTH_JUDGED, About(LEFT, "", "7", "bench-a"))
    assert named == told_by(found(SwitchNamed, switch=None), named)


def test_a_phase_carries_the_name_of_its_sensor() -> None:
    """Its fixed name is found again, and so are the phases that were carried out on one of them."""
    names = ("wiring", phase_of("loop_check", LEFT), phase_of("loop_check", RIGHT), phase_of("reserve", RIGHT))

    assert ["wiring", "loop_check", "loop_check", "reserve"] == [plain_phase(name) for name in names]
    assert ("loop_check",) == phases_of(names, LEFT)
    assert ("wiring",) == phases_of(names, "")


def test_a_phase_taken_over_says_whose_it_was() -> None:
    """The sentence that it still stands begins with the sensor's name."""
    taken_over = made(TakenOver, sentences=("The loop check stands.",), phase="loop_check", void=True)

    assert ("filament2: The loop check stands.",) == taken_over.of_sensor(RIGHT).sentences
    assert (taken_over.phase, taken_over.void) == ("loop_check", taken_over.of_sensor(RIGHT).void)
