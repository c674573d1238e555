"""An installation taken up again around its reflash: nothing that was done is asked again, nothing is forgotten."""

from collections.abc import Mapping
from typing import Any

import pytest

from commission.asking.phase import Change, Progress
from commission.dialect.identity import identity_of
from commission.dialect.runout import RunoutControl
from commission.evidence.findings.function import Reserve
from commission.evidence.findings.settings import SettingsAfterReflash
from commission.jobs import wiring_share as wiring_walk
from commission.jobs.settings_share import offered_reflash, offered_watching
from commission.jobs.wiring_share import follow_up
from commission.judge.acceptance import Acceptance
from commission.judge.advice import Advice
from commission.judge.plan import Plan
from commission.judge.reserve import Path, reserve
from commission.procedure.cause import diagnose
from commission.procedure.function import reserve as reserve_phase
from commission.procedure.function.reserve import offered_reserve, reserved_again
from commission.procedure.loop.loop_check import LoopChecked
from commission.procedure.meeting.as_found import AsFound
from commission.procedure.settings import reflash, restore, watching
from commission.procedure.settings.backup import backup
from commission.procedure.settings.record import SettingsRecord
from commission.vocabulary import FailSafe, SwitchBehaviour, Verdict
from tests.procedure.settings_bench import SHEET, FakeUnit, Played, SettingsBench
from tests.support.codec import read_back
from tests.support.scripted_phase import ScriptedPhase

Kept = Mapping[str, Mapping[str, Any]]
DONE: Kept = {"reflash": {"opened": True, "settings_last": True}}


def test_each_phase_declares_what_voids_it() -> None:
    """Other firmware voids what was set in it, other settings what was put back, another wiring lengths and causes."""
    assert frozenset({Change.FIRMWARE}) == reflash.VOIDED_BY
    assert frozenset({Change.FIRMWARE, Change.SETTINGS}) == restore.VOIDED_BY == watching.VOIDED_BY
    assert frozenset({Change.FIRMWARE, Change.WIRING}) == diagnose.VOIDED_BY
    assert frozenset({Change.WIRING}) == reserve_phase.VOIDED_BY == wiring_walk.VOIDED_BY


def flashed() -> tuple[FakeUnit, SettingsRecord]:
    """A printer with a record of its settings and, since then, another firmware that lost them."""
    unit = FakeUnit("tuned", "new-layout")
    record = SettingsBench(unit).play(backup(SHEET, "ExampleFW", {})).result
    assert record is not None
    unit.reflash()
    return unit, record


def taken_up(
    progress: Progress, unit: FakeUnit, record: SettingsRecord | None, **answers: object
) -> Played[AsFound | None]:
    """The reflash as it is offered to a run that is taken up again."""
    bench = SettingsBench(unit, {key.replace("_", "."): answer for key, answer in answers.items()} or {})
    return bench.play(offered_reflash(SHEET, record, identity_of(unit.ask("M115")), progress))


def test_a_reflash_that_was_done_is_not_asked_for_again() -> None:
    """Only the restore that is missing is offered; switches and runout control are read from the new firmware."""
    unit, record = flashed()
    played = taken_up(Progress(DONE), unit, record, restore_now=False)

    assert ["restore.now", "restore.skip_reason"] == played.asked
    assert isinstance(played.result, AsFound)
    assert any("still valid: the reflash" in line for line in played.told)


def test_a_restore_that_was_done_is_not_offered_again() -> None:
    """With both done nothing is asked at all."""
    unit, record = flashed()
    played = taken_up(Progress({**DONE, "restore": {"verdict": "pass"}}), unit, record)

    assert [] == played.asked
    assert isinstance(played.result, AsFound)


def test_settings_changed_since_void_the_restore_alone() -> None:
    """The reflash stands, the restore is offered again: it plans anew and sends only what differs."""
    unit, record = flashed()
    progress = Progress({**DONE, "restore": {"verdict": "pass"}}, frozenset({Change.SETTINGS}))

    assert "restore.now" in taken_up(progress, unit, record, restore_now=False).asked


def test_a_run_broken_off_in_the_reflash_looks_after_the_settings_first() -> None:
    """The firmware is another one and the phase never ended: what was lost is found, and the restore is offered."""
    unit, record = flashed()
    bench = SettingsBench(unit, {"reflash.afresh": False, "restore.now": False})
    progress = Progress({"backup": {"kept": True}}, frozenset({Change.FIRMWARE}))
    played = bench.play(offered_reflash(SHEET, record, identity_of(unit.ask("M115")), progress))

    assert ["reflash.afresh", "restore.now", "restore.skip_reason"] == played.asked
    fate = played.findings[SettingsAfterReflash].fate
    assert "defaults" in fate or "changed" in fate
    assert any("first of all, what became of the settings" in line for line in played.told)


@pytest.mark.parametrize(
    ("progress", "record"), [(Progress(), True), (Progress({}, frozenset({Change.FIRMWARE})), False)]
)
def test_otherwise_the_reflash_is_offered(progress: Progress, *, record: bool) -> None:
    """From the start, or where there is no record to look after settings by, the question is the usual one."""
    unit, kept = flashed()

    assert ["reflash.stays"] == taken_up(progress, unit, kept if record else None).asked


def test_watching_that_was_set_is_not_asked_for_again() -> None:
    """Done and valid nothing is asked; void, what the printer says now is shown and not what it said at first."""
    unit = FakeUnit("sound")
    stale = RunoutControl(supported=True, enabled=False, distance_mm=3.0)
    done: Kept = {"watching": {"lasts": True}}
    valid = SettingsBench(unit).play(offered_watching(stale, Progress(done)))
    void = SettingsBench(unit).play(offered_watching(stale, Progress(done, frozenset({Change.SETTINGS}))))

    assert ([], ["watching.stays"]) == (valid.asked, void.asked)
    assert [] == void.punches, "the printer watches, whatever it did when the run began"


def test_a_reserve_comes_back() -> None:
    """Every value is the one that was worked out; one that was left out has nothing to give back."""
    found = reserve(Path(60.0, gear_to_nozzle_mm=45.0, leftover_mm=20.0))
    answers = {"reserve.trip_to_gear": "60", "reserve.gear_to_nozzle": "45", "reserve.job": "short"}
    kept = ScriptedPhase(answers).play(offered_reserve(20.0)).findings[Reserve]
    again = ScriptedPhase(recalled_here=[read_back(kept)]).play(reserved_again({})).result

    assert found == again
    assert ScriptedPhase(recalled_here=[Reserve(done=False)]).play(reserved_again({})).result is None
    assert ScriptedPhase().play(reserved_again({})).result is None


def failed() -> LoopChecked:
    """A loop check that found the switch stuck."""
    return LoopChecked(
        Acceptance(Verdict.FAIL, (), ()), SwitchBehaviour.STUCK_INACTIVE, FailSafe.NOT_TESTED, Advice.FIND_FAULT
    )


def test_a_diagnosis_that_was_done_is_not_offered_again() -> None:
    """It stands while wiring and firmware are as they were."""
    done: Kept = {"diagnosis": {"decided": True}}
    plan = Plan(seed=1, cycles=6)
    valid = ScriptedPhase().play(follow_up(failed(), plan, "filament", Progress(done)))
    void = ScriptedPhase({"diagnose.now": False}).play(
        follow_up(failed(), plan, "filament", Progress(done, frozenset({Change.WIRING})))
    )

    assert [] == valid.asked
    assert "diagnose.now" in void.asked
