"""What another room found stands in the record as it was, and comes back to that room as it was."""

import json
import math

import msgspec
import pytest
from msgspec import structs

from commission.dialect.runout import RunoutControl
from commission.dialect.switches import SwitchState
from commission.evidence.entry import NEVER, moment
from commission.evidence.exposed import MOVING, STEADY, exposed_of
from commission.evidence.findings.base import Finding
from commission.evidence.findings.compared import Compared
from commission.evidence.findings.function import FilamentPathMeasured, PauseLengths, Reserve, pause_lengths
from commission.evidence.findings.gates import GateShown
from commission.evidence.findings.loop import Criterion
from commission.evidence.findings.meeting import WORKED_OUT, NextCheck
from commission.evidence.findings.pull import PullProof
from commission.evidence.findings.reported import RunoutControlAsFound, SwitchesAsFound, runout_values
from commission.evidence.findings.soak import Shown
from commission.evidence.findings.wiring import InputClaims, PredictedState, PredictionHeld, WiringAssessed
from commission.evidence.measured import Moves, TimedReading, Trial, TrialBegan, Watch, WatchBegan, WatchBrokenOff
from commission.evidence.observations import Observed
from commission.evidence.soaked import Repeated, SoakStretch
from commission.judge import acceptance, evidence, reserve
from commission.judge.explanations import Observation
from commission.judge.gates import Gate, GateState, How
from commission.judge.interval import Demand
from commission.judge.nuisance import Around, Exposed, RateBound
from commission.settings.comparison import compare
from commission.settings.comparison_json import as_json
from commission.vocabulary import Instruction, Level, Presence, Pull, PullConclusion, Reading, Spoken, Verdict
from commission.wiring.assessment import assess
from commission.wiring.claims import InputNote, claims
from commission.wiring.single_faults import Single
from tests.settings.reports import NEWER, OLDER, snapshot
from tests.support.made import made
from tests.wiring.cases import GROUND, HIGH, NO, two_wire, wired

PATH = reserve.Path(60.0, 45.0, trip_uncertainty_mm=2.0, grip_mm=10.0, retract_mm=1.5, unload_mm=80.0)
SWITCHES = (SwitchState("filament", "TRIGGERED", Reading.ACTIVE), SwitchState("x_min", "open", Reading.INACTIVE))


def test_a_filament_path_comes_back() -> None:
    """Lengths, queue with its job, and the retraction: the judge gets the path that was measured."""
    assert PATH == FilamentPathMeasured.of(PATH).path


def test_a_reserve_comes_back() -> None:
    """Worked out, it is the judge's own result again; left out, it is none."""
    found = reserve.reserve(PATH)

    assert found == Reserve.of(PATH, found, ("The pause comes in time.",)).found
    assert None is Reserve(sentences=("Left out.",), done=False).found


def test_an_unmeasured_pause_has_no_lengths() -> None:
    """Nothing of it is a number."""
    lengths: PauseLengths = pause_lengths(None)

    assert {None} == set(lengths.values())


def test_a_gate_and_a_criterion_come_back() -> None:
    """With their reasons and cures, word for word."""
    gate = Gate("watching", "it is watched", GateState.SHUT, How.ASKED, "It is off.", "Switch it on.")
    criterion = acceptance.Criterion("steady", "no change", "2 changes", Verdict.FAIL)

    assert gate == GateShown.of(gate).gate
    assert criterion == Criterion.of(criterion).judged


def test_switches_and_runout_control_come_back() -> None:
    """What was not stated stays not stated."""
    control = RunoutControl(supported=True, enabled=None, distance_mm=20.0)
    kept = RunoutControlAsFound(sentences=("As found.",), **runout_values(control))

    assert SWITCHES == SwitchesAsFound.of(SWITCHES, ("As found.",)).states
    assert control == kept.control


def test_a_demand_is_that_of_worked_out_dates() -> None:
    """Dates worked out from a use have it; without one of its numbers, or by practice, there is none."""
    use = {"runouts_per_year": 6.0, "tolerated_per_year": 0.1, "print_hours_per_day": 8.0}
    dates = made(NextCheck, basis=WORKED_OUT, **use)

    assert Demand(6.0, 0.1, 8.0) == dates.demand
    assert None is made(NextCheck, basis=WORKED_OUT, **use | {"print_hours_per_day": None}).demand
    assert None is made(NextCheck, basis="usual practice", **use).demand


def test_a_proof_of_the_pull_comes_back() -> None:
    """Its sentence is all of its sentences; one that was left out came to nothing."""
    conclusion = next(iter(PullConclusion))
    proof = made(PullProof, sentences=("It is held.", "By 40 kΩ."), conclusion=conclusion)

    assert evidence.PullResult(conclusion, "It is held. By 40 kΩ.") == proof.result
    assert None is made(PullProof, conclusion=None).result


def test_a_bound_and_an_observation_come_back() -> None:
    """Condition, exposure, changes and bound; counts, restart, power-up and runs."""
    bound = RateBound(Around.AT_REST, 60.0, 0, 179.7, 0.95)
    seen = Observation("wiggle", 3, 20, restarted=True, power_up=2, runs=1)

    shown = Shown.of(bound)
    assert (bound.around, bound.seconds, bound.changes, bound.per_hour) == (
        shown.around,
        shown.seconds,
        shown.changes,
        shown.per_hour,
    )
    assert seen == Observed.of(seen).observation


def test_an_assessed_wiring_stands_whole() -> None:
    """Every single fault has its pair of states, or none where the wiring does not have that fault."""
    assessed = assess(wired(two_wire(NO, GROUND), Pull.UP, HIGH))
    kept = WiringAssessed.of(assessed)

    assert {each.value for each in Single} == set(kept.states)
    sound, of_sound = assessed.states[Single.SOUND], kept.states["sound"]
    assert sound is not None
    assert of_sound is not None
    assert PredictedState(level=Level.LOW, concluded=sound.filament_in.concluded, supply_short=False) == (
        of_sound.filament_in
    )
    assert (assessed.usable, assessed.fail_safe, assessed.polarity) == (kept.usable, kept.fail_safe, kept.polarity)


@pytest.mark.parametrize(
    ("agrees", "said"), [(True, "as predicted"), (False, "NOT as predicted"), (None, "nothing to compare")]
)
def test_a_prediction_says_what_it_came_to(said: str, *, agrees: bool | None) -> None:
    """State, prediction, measurement and whether they agree, in one sentence."""
    held = PredictionHeld(state="filament in", predicted="low", measured="low", tests=3, agrees=agrees)

    assert f"Filament in: predicted low, measured low: {said}." == held.sentence


def test_a_finding_without_a_title_is_headed_by_its_name() -> None:
    """As a person writes it; one with a title has that."""
    assert "Switches as found" == SwitchesAsFound.heading()
    assert "Proof of the pull" == PullProof.heading()
    assert issubclass(PullProof, Finding)


def test_a_time_that_is_none_is_at_the_beginning() -> None:
    """One without a zone is taken as universal time."""
    assert NEVER == moment("yesterday")
    assert moment("2031-03-14T09:26:53") == moment("2031-03-14T09:26:53+00:00")


def test_a_moment_beyond_four_months_is_refused() -> None:
    """No watch is that long, and no number that is none is a moment."""
    for at_s in (1e7, -1e7, math.nan):
        with pytest.raises(ValueError, match="within four months"):
            TimedReading(at_s=at_s, reading=Reading.ACTIVE, wire_word="open")


def test_only_watches_without_a_wanted_change_are_exposure() -> None:
    """A steady watch at rest, test moves while moving, a soak as it says; a start-up counts for none."""
    readings = tuple(TimedReading(at_s=n / 4, reading=Reading.ACTIVE, wire_word="open") for n in range(5))

    assert Exposed(Around.AT_REST, 1.0, 0) == exposed_of(made(Watch, key=STEADY, readings=readings))
    assert Exposed(Around.MOVING, 1.0, 0) == exposed_of(made(Moves, key=MOVING, readings=readings))
    assert Exposed(Around.PRINTING, 9.0, 0) == exposed_of(
        SoakStretch(began_s=0.0, ended_s=10.0, around=Around.PRINTING, repeated=(), exposure_s=9.0)
    )
    assert None is exposed_of(made(Watch, key="start_up", readings=readings))


def test_a_comparison_is_the_one_that_is_published() -> None:
    """Value for value: what stands in the record is what `compare --json` says."""
    comparison = compare(snapshot(OLDER), snapshot(NEWER))

    published = json.loads(json.dumps(as_json(comparison)))
    kept = json.loads(msgspec.json.encode(Compared.of(comparison)))

    assert kept
    assert kept == {name: published[name] for name in kept}


def test_a_note_of_an_input_stands_whole() -> None:
    """With the names of its claims; a pull that nobody declared is none."""
    note = InputNote("runout header", "B7", Pull.UP, Level.HIGH, claims()[:2], "LAMP")
    kept = InputClaims.of(note, pull_known=True, sentences=("Noted.",))

    assert (note.name_on_board, note.pin, note.absent, note.second_name) == (
        kept.name_on_board,
        kept.pin,
        kept.absent,
        kept.second_name,
    )
    assert (tuple(claim.name for claim in claims()[:2]), Pull.UP) == (kept.claims, kept.pull)
    assert None is InputClaims.of(note, pull_known=False, sentences=("Noted.",)).pull


def test_a_watch_is_what_was_begun_and_what_came_of_it() -> None:
    """Whole or broken off; a change is a known reading that differs from the known one before it."""
    words = (Reading.ACTIVE, Reading.UNKNOWN, Reading.ACTIVE, Reading.INACTIVE, Reading.ACTIVE)
    readings = tuple(TimedReading(n / 4, word, "") for n, word in enumerate(words))
    began = WatchBegan(title="Steady", presence=None, key=STEADY, switch="filament", seconds=1.0, planned_readings=5)
    whole, broken_off = Watch.of(began, readings, 1.0, 0.25, 1), WatchBrokenOff.of(began, readings[:2])

    for each in (whole, broken_off):
        assert (began.title, began.key, began.seconds) == (each.title, each.key, each.seconds)
    assert (2, 0) == (whole.changes, broken_off.changes)


def test_a_trial_is_what_was_asked_for_and_what_came_of_it() -> None:
    """The prompt with its number, move and switch, and beside it the readings and what the operator said."""
    began = TrialBegan(
        number=3,
        cycle=2,
        instruction=Instruction.INSERT,
        presence=Presence.IN,
        switch="filament",
        countdown_s=5.0,
        readings=21,
        dwell_s=2.0,
    )
    before, dwell = ((TimedReading(at_s, Reading.ACTIVE, "open"),) for at_s in (1.0, 6.0))
    trial = Trial.of(
        began,
        before,
        dwell,
        unread=4,
        void_reason="slipped",
        remark="lamp lit",
        spoken=Spoken.BEFORE,
        void_before="wrong side",
    )

    assert structs.asdict(trial) == structs.asdict(began) | {
        "before": before,
        "dwell": dwell,
        "unread": 4,
        "void_reason": "slipped",
        "remark": "lamp lit",
        "spoken": Spoken.BEFORE,
        "void_before": "wrong side",
    }


def test_a_stretch_counts_its_known_readings() -> None:
    """What was read as unknown is none."""
    rows = [
        made(Repeated, reading=reading, count=count) for reading, count in ((Reading.ACTIVE, 7), (Reading.UNKNOWN, 3))
    ]

    assert 7 == made(SoakStretch, around=Around.AT_REST, repeated=tuple(rows)).readings
