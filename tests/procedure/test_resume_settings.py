"""An installation taken up again around its reflash: nothing that was done is asked again, nothing is forgotten."""

import pytest

from commission.asking.phase import Progress, Voiding
from commission.asking.request import Confirm
from commission.dialect.identity import Identity, identity_of
from commission.dialect.runout import RunoutControl
from commission.evidence.findings.meeting import IdentityAfterReflash, TakenOver, announced_values
from commission.evidence.findings.settings import SettingsAfterReflash, SettingsAsFound
from commission.jobs.settings_share import NOT_LISTED, offered_reflash, offered_watching
from commission.jobs.wiring_share import follow_up
from commission.judge.acceptance import Acceptance
from commission.judge.advice import Advice
from commission.judge.plan import Plan
from commission.judge.reserve import Path, reserve
from commission.procedure.function.reserve import offered_reserve
from commission.procedure.loop.loop_check import LoopChecked
from commission.procedure.meeting.as_found import AsFound
from commission.procedure.settings.backup import backup
from commission.procedure.settings.record import SettingsRecord
from commission.procedure.wiring.declaration import assessed, wiring_found
from commission.vocabulary import FailSafe, SwitchBehaviour, Verdict
from tests.procedure.settings_bench import SHEET, FakeUnit, Played, SettingsBench
from tests.procedure.unit_hands import ScriptedHands
from tests.support.scripted_phase import ScriptedPhase

TWO_WIRES = {"sensor": "switch", "contact": "NO", "to": "ground", "pull": "up", "absent": "high"}


def flashed() -> tuple[FakeUnit, SettingsRecord]:
    """A printer with a record of its settings and, since then, another firmware that lost them."""
    unit = FakeUnit("tuned", "new-layout")
    record = SettingsBench(unit).play(backup(SHEET, "ExampleFW", {})).result
    assert record is not None
    unit.reflash()
    return unit, record


def taken_up(
    bench: SettingsBench, progress: Progress, record: SettingsRecord | None, **answers: object
) -> Played[AsFound | None]:
    """The reflash as it is offered to a run that is taken up again."""
    bench.answers = {"way_back.*": False, **{key.replace("_", "."): answer for key, answer in answers.items()}}
    return bench.play(offered_reflash(SHEET, record, identity_of(bench.printer.ask("M115")), progress))


def reflashed(**answers: object) -> tuple[SettingsBench, SettingsRecord]:
    """A bench at which the reflash was done, with the record from before it."""
    bench = SettingsBench(FakeUnit("tuned", "new-layout"))
    record = bench.play(backup(SHEET, "ExampleFW", {})).result
    assert record is not None
    bench.found.keep(SettingsAsFound(**record.values()))
    taken_up(bench, Progress(), record, reflash_stays=False, **answers)
    return bench, record


def test_a_reflash_that_was_done_is_not_asked_for_again() -> None:
    """Only the restore that is missing is offered; switches and runout control are read from the new firmware."""
    bench, record = reflashed(restore_now=False)
    played = taken_up(bench, Progress(["reflash"]), record, restore_now=False)

    assert ["restore.now", "restore.skip_reason"] == played.asked
    assert isinstance(played.result, AsFound)
    assert "the reflash" in played.said(TakenOver)


def test_a_restore_that_was_done_is_not_offered_again() -> None:
    """With both done nothing is asked at all."""
    bench, record = reflashed()
    played = taken_up(bench, Progress(["reflash", "restore"]), record)

    assert [] == played.asked
    assert isinstance(played.result, AsFound)


def test_settings_changed_since_void_the_restore_alone() -> None:
    """The reflash stands, the restore is offered again: it plans anew and sends only what differs."""
    bench, record = reflashed()
    progress = Progress(["reflash", "restore"], frozenset({Voiding.SETTINGS}))

    assert ["restore.now", "restore.skip_reason"] == taken_up(bench, progress, record, restore_now=False).asked


def test_a_reflash_that_the_book_does_not_hold_whole_is_looked_after() -> None:
    """One of an earlier release is not asked for again: what became of the settings is found out, and put back."""
    unit, record = flashed()
    known = IdentityAfterReflash(port="fake", heard=(), **announced_values(Identity("ExampleFW 3")))
    played = taken_up(SettingsBench(unit, found=[known]), Progress(["reflash"]), record, reflash_afresh=False)

    assert "reflash.stays" not in played.asked
    assert "restore.now" in played.asked


def test_a_run_broken_off_in_the_reflash_looks_after_the_settings_first() -> None:
    """The firmware is another one and the phase never ended: what was lost is found, and the restore is offered."""
    unit, record = flashed()
    progress = Progress(["backup"], frozenset({Voiding.FIRMWARE}))
    played = taken_up(SettingsBench(unit), progress, record, reflash_afresh=False, restore_now=False)

    assert ["reflash.afresh", "restore.now", "restore.skip_reason"] == played.asked
    fate = played.findings[SettingsAfterReflash].fate
    assert "defaults" in fate or "changed" in fate
    assert any("first of all, what became of the settings" in line for line in played.told)


@pytest.mark.parametrize(
    ("progress", "record"), [(Progress(), True), (Progress([], frozenset({Voiding.FIRMWARE})), False)]
)
def test_otherwise_the_reflash_is_offered(progress: Progress, *, record: bool) -> None:
    """From the start, or where there is no record to look after settings by, the question is the usual one."""
    unit, kept = flashed()

    assert ["reflash.stays"] == taken_up(SettingsBench(unit), progress, kept if record else None).asked


def test_a_run_that_kept_its_firmware_is_not_asked_again() -> None:
    """Taken up behind the wiring the question was answered; another firmware since then brings it back."""
    unit, record = flashed()
    kept = taken_up(SettingsBench(unit), Progress(["as_found", "backup", "wiring"]), record)
    before = taken_up(SettingsBench(unit), Progress(["as_found", "backup"]), record)

    assert ([], ["reflash.stays"]) == (kept.asked, before.asked)


def test_a_missing_sensor_line_is_said_before_the_firmware_is_asked_for() -> None:
    """Whoever decides on the firmware knows that with this one the printer cannot read the sensor."""
    _, record = flashed()
    lines = {}
    for lists_sensor in (True, False):
        steps = offered_reflash(SHEET, record, None, lists_sensor=lists_sensor)
        while not isinstance(request := next(steps), Confirm):
            pass
        lines[lists_sensor] = request.lines

    assert (False, True) == (NOT_LISTED in lines[True], NOT_LISTED in lines[False])


def test_watching_that_was_set_is_not_asked_for_again() -> None:
    """Done and valid nothing is asked; void, what the printer says now is shown and not what it said at first."""
    bench = SettingsBench(FakeUnit("sound"), {"watching.stays": False, "watching.distance": "20"})
    stale = RunoutControl(supported=True, enabled=False, distance_mm=3.0)
    bench.play(offered_watching(stale))
    bench.answers = {}
    valid = bench.play(offered_watching(stale, Progress(["watching"])))
    void = bench.play(offered_watching(stale, Progress(["watching"], frozenset({Voiding.SETTINGS}))))

    assert ([], ["watching.stays"]) == (valid.asked, void.asked)
    assert [] == void.punches, "the printer watches, whatever it did when the run began"


def test_a_reserve_comes_back() -> None:
    """Every value is the one that was worked out; one that was left out is offered again."""
    run = ScriptedPhase({"reserve.trip_to_gear": "60", "reserve.gear_to_nozzle": "45", "reserve.job": "short"})
    first = run.play(offered_reserve(20.0)).result
    again = run.play(offered_reserve(20.0, Progress(["reserve"])))

    assert reserve(Path(60.0, gear_to_nozzle_mm=45.0, leftover_mm=20.0)) == first == again.result
    assert [] == again.asked


def failed() -> LoopChecked:
    """A loop check that found the switch stuck."""
    return LoopChecked(
        Acceptance(Verdict.FAIL, (), ()), SwitchBehaviour.STUCK_INACTIVE, FailSafe.NOT_TESTED, Advice.FIND_FAULT
    )


def test_a_diagnosis_that_was_done_is_not_offered_again() -> None:
    """It stands while wiring and firmware are as they were."""
    plan = Plan(seed=1, cycles=6)
    hands = ScriptedHands("sound", lambda key: "stop" if key == "diagnose.next" else None)
    hands.findings.keep(wiring_found(assessed(TWO_WIRES)))
    hands.carry_out(follow_up(failed(), plan, "filament"))
    assert ["diagnosis"] == list(hands.remembered.done)
    hands.asked.clear()
    hands.carry_out(follow_up(failed(), plan, "filament", Progress(["diagnosis"])))
    assert [] == [key for key in hands.asked if key]
    hands.answer_with(lambda key: False if key == "diagnose.now" else None)
    hands.carry_out(follow_up(failed(), plan, "filament", Progress(["diagnosis"], frozenset({Voiding.WIRING}))))

    assert "diagnose.now" in hands.asked
