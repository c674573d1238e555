"""Each unit whose settings a reflash loses: backup, reflash, restore, on the simulated printer.

Every one ends with every safe value as it was printed before, every trap asked and no refused line received, or with a
clear stop.
"""

from dataclasses import dataclass
from pathlib import Path

import pytest
from msgspec import structs

from commission.asking.request import Ask, Fingerprint, Request
from commission.asking.response import HoldReleased, Interrupted
from commission.asking.steps import Steps, establish
from commission.dialect.framing import RawLine
from commission.dialect.identity import Identity, identity_of
from commission.dialect.replies import classify
from commission.dialect.runout import RunoutControl
from commission.evidence.findings.base import Finding
from commission.evidence.findings.function import Reserve
from commission.evidence.findings.meeting import LeftOut
from commission.evidence.findings.settings import (
    Afresh,
    FirmwareFiles,
    Reflash,
    Restore,
    SettingsAfterReflash,
    SettingsAsLeft,
    SettingsSaved,
)
from commission.evidence.talk import FileMark
from commission.jobs.settings_share import keep_settings, offered_reflash, offered_watching, settings_as_left
from commission.judge import reserve as lengths
from commission.judge.gates import GateEvidence
from commission.procedure.function.gates import read_gates
from commission.procedure.meeting.as_found import AsFound
from commission.procedure.settings.backup import backup
from commission.procedure.settings.firmware_files import firmware_files
from commission.procedure.settings.record import SettingsRecord
from commission.procedure.settings.reflash import look_after
from commission.procedure.settings.watching import Watching, watching
from commission.session import End, Exchange
from commission.settings.comparison import compare
from commission.settings.difference import Difference
from commission.settings.meaning import RestoreClass
from commission.settings.plan_items import Decision
from commission.settings.restore_plan import plan_restore
from commission.settings.table_reader import standard_table
from commission.vocabulary import PunchClass, Verdict
from tests.procedure.settings_bench import NOTHING_DONE, SHEET, Answers, FakeUnit, Played, SettingsBench
from tests.settings.reports import snapshot
from tests.support.scripted_phase import ScriptedPhase

QUESTIONS = {"M115", "M119", "M503", "M78", "M412", "M591", "M205"}
RELEASED = {"M500", "M501", "M502"}


@dataclass(frozen=True)
class Job:
    """What the whole job came to."""

    record: SettingsRecord
    found: AsFound | None


def job(identity: Identity | None) -> Steps[Job]:
    """Backup, reflash hold point, restore."""
    record = yield from backup(SHEET, "ExampleFW", {})
    assert record is not None
    return Job(record, (yield from offered_reflash(SHEET, record, identity)))


def carried_out(unit: FakeUnit, answers: Answers | None = None) -> tuple[Job, Played[Job]]:
    """The job on this unit, with everything released unless the answers say otherwise."""
    bench = SettingsBench(unit, {"reflash.stays": False, "way_back.*": False, **(answers or {})})
    played = bench.play(job(identity_of(unit.ask("M115"))))
    assert played.result is not None, played.interruption
    return played.result, played


def assert_only_allowed(unit: FakeUnit, job_done: Job) -> None:
    """Every line the printer received is a question, a released save, load or default, or a line of the allow-list."""
    table = standard_table()
    for line in unit.host.printer.received_lines:
        word = line.split()[0]
        if word not in QUESTIONS | RELEASED:
            assert table.commands[word].restore is not RestoreClass.REFUSE, line
            assert not table.is_never(word), line
    assert job_done.record.complete


def still_different(unit: FakeUnit, record: SettingsRecord) -> list[str]:
    """What of the record could still be put back into the printer as it is now."""
    now = snapshot("\n".join(unit.host.ask("M503")))
    plan = plan_restore(record.snapshot, now)
    return [str(item.line) for decision in (Decision.SEND, Decision.ASK) for item in plan.of(decision)]


COMES_BACK = {
    "another layout": ("tuned", "new-layout", "version_mismatch", "defaults loaded"),
    "a damaged memory": ("tuned", "new-bit", "crc_mismatch", "defaults loaded"),
    "another size": ("tuned-without", "new-size", "datasize", "defaults loaded"),
    "a bed mesh": ("tuned-mesh", "new-mesh", "version_mismatch", "defaults loaded"),
    "silent defaults": ("tuned", "new-silent", "", "changed without a word"),
    "a memory started over": ("tuned", "new-starts-over", "", "changed without a word"),
    "old to new forms": ("tuned-old", "new-layout", "version_mismatch", "defaults loaded"),
    "new to old forms": ("tuned", "old-forms", "version_mismatch", "defaults loaded"),
    "middle to new forms": ("middle-forms", "new-forms", "version_mismatch", "defaults loaded"),
}


@pytest.mark.parametrize("name", COMES_BACK)
def test_what_a_reflash_lost_comes_back(name: str) -> None:
    """What became of the settings is named, and all that may be put back is as it was printed, also after power-off."""
    old, new, error, fate = COMES_BACK[name]
    unit = FakeUnit(old, new)
    done, played = carried_out(unit)
    after = played.findings[SettingsAfterReflash]

    assert ((error,) if error else ()) == after.errors
    assert fate == after.fate
    assert played.findings[Afresh].done
    assert [] == still_different(unit, done.record)
    unit.power_cycle()
    assert [] == still_different(unit, done.record)
    assert_only_allowed(unit, done)
    assert Verdict.PASS is played.findings[Restore].verdict


@pytest.mark.parametrize("name", ["another layout", "old to new forms"])
def test_safe_values_are_the_same_by_comparison(name: str) -> None:
    """The comparison of as found with as left shows no difference in any safe command that both builds print."""
    old, new, _, _ = COMES_BACK[name]
    unit = FakeUnit(old, new)
    done, _ = carried_out(unit)
    now = snapshot("\n".join(unit.host.ask("M503")))
    changed = compare(done.record.snapshot, now).of(Difference.CHANGED)

    assert [] == [item for item in changed if item.restore is RestoreClass.SAFE]


def test_every_trap_is_asked() -> None:
    """Probe offset and heater gains are asked by themselves, with the reason on the screen, before they go out."""
    unit = FakeUnit("tuned", "new-layout")
    _, played = carried_out(unit, {"restore.line.*": False})

    assert {"restore.line.M301", "restore.line.M851"} <= set(played.asked)
    assert [] == [line for line in unit.sent if line.startswith(("M301", "M851"))]


def test_nothing_is_put_back_where_nothing_lasts() -> None:
    """A build without settings storage is a clear stop: no settings line is sent, and an open item says what to do."""
    unit = FakeUnit("tuned", "new-no-storage")
    _, played = carried_out(unit)

    assert [] == [line for line in unit.sent if line.split()[0] not in QUESTIONS | RELEASED]
    assert any("no settings storage" in item.text for item in played.punches)
    assert "restore.now" not in played.asked


def test_a_save_that_fails_after_saying_stored_is_a_stop() -> None:
    """`Stored` and then an error: the memory is not relied on, and nothing is put back into it."""
    unit = FakeUnit("tuned", "new-save-fails")
    _, played = carried_out(unit)

    assert "failed" == played.findings[SettingsSaved].saved
    assert [] == [line for line in unit.sent if line.split()[0] not in QUESTIONS | RELEASED]
    assert any("does not hold" in item.text for item in played.punches)


def test_settings_that_survive_are_left_alone() -> None:
    """Where every value is as before nothing is loaded, saved or sent, and nobody is asked whether to put it back."""
    unit = FakeUnit("tuned", "tuned")
    _, played = carried_out(unit)

    assert "survived" == played.findings[SettingsAfterReflash].fate
    assert "restore.now" not in played.asked
    assert "Every recorded value is as before: nothing has to be put back." in played.told
    assert set(unit.sent) <= QUESTIONS


def test_a_mesh_is_asked_for_once_and_goes_back_point_by_point() -> None:
    """The points of a mesh are one question; released, each goes out in the write form, and use of the mesh last."""
    unit = FakeUnit("tuned-mesh", "new-mesh")
    _, played = carried_out(unit)
    sent = [line for line in unit.host.printer.received_lines if line.startswith(("G29", "M420"))]

    points = ["G29 W I0 J0 Z0.20125", "G29 W I1 J0 Z0.11000", "G29 W I0 J1 Z-0.05500", "G29 W I1 J1 Z0.07250"]
    assert [*points, "M420 S1"] == sent
    assert 1 == list(played.asked).count("restore.line.G29")


def test_a_mesh_stays_out_of_a_build_that_prints_none() -> None:
    """Where the new build has no mesh in its report, no point of the old one is sent, nor asked for."""
    unit = FakeUnit("tuned-mesh", "new-layout")
    _, played = carried_out(unit)

    assert [] == [line for line in unit.host.printer.received_lines if line.startswith("G29")]
    assert "restore.line.G29" not in played.asked


def test_the_hold_point_stays_shut_without_a_proven_backup() -> None:
    """When the book does not give the record back, the hold point does not open."""
    unit = FakeUnit("tuned", "new-layout")

    def steps() -> Steps[AsFound | None]:
        kept = yield from backup(SHEET, "", {})
        return (yield from offered_reflash(SHEET, kept, None))

    def incomplete(found: Finding) -> Finding:
        return structs.replace(found, complete=False)

    spoilt = SettingsBench(
        unit,
        {"reflash.stays": False, "reflash.without_backup": False, "way_back.*": False},
        spoil=incomplete,
    )
    played = spoilt.play(steps())

    assert played.result is None
    assert "reflash.hold" not in played.asked
    assert not played.findings[Reflash].opened


def test_a_worklist_that_is_not_ready_changes_nothing() -> None:
    """Put off at the worklist, the hold point does not open."""
    unit = FakeUnit("tuned", "new-layout")
    done, played = carried_out(unit, {"reflash.worklist": "back"})

    assert done.found is None
    assert "reflash.hold" not in played.asked


def test_no_way_back_is_an_open_item() -> None:
    """No file of the old firmware is a B item; both files stand in the record."""
    _, played = carried_out(FakeUnit("tuned", "new-layout"))

    files = played.findings[FirmwareFiles]
    assert (None, None) == (files.old, files.new)
    assert PunchClass.INCOMPLETE in {item.grade for item in played.punches if "no way back" in item.text}


def test_an_empty_file_is_no_way_back() -> None:
    """A file of no bytes is refused with the reason, and what is typed after it is taken instead."""
    whole = {"name": "old.bin", "place": "shelf", "sha256": "0" * 64, "bytes": 131072}
    asked: list[str] = []

    def respond(request: Request) -> object:
        assert isinstance(request, Fingerprint)
        asked.append(request.path)
        return whole | {"bytes": 0} if request.path == "empty.bin" else whole

    answers = {"way_back.old_path": ["empty.bin", "old.bin"], "way_back.new": False}
    played = ScriptedPhase(answers, other=respond).play(firmware_files())

    assert ["empty.bin", "old.bin"] == asked
    assert "empty.bin is empty: there is no firmware in it. Check the path and type it again." in played.told
    assert FileMark(name="old.bin", place="shelf", sha256="0" * 64, bytes=131072) == (
        played.findings[FirmwareFiles].old
    )


def test_missing_thermal_protection_is_unsafe(tmp_path: Path) -> None:
    """A new build that announces no heating protection is an open item of class A; one that has it is none."""
    build = tmp_path / "cold-feet.toml"
    lines = ("format = 1", 'like = "new-layout"', "[firmware.capabilities]", "THERMAL_PROTECTION = false")
    build.write_text("\n".join(lines))
    _, played = carried_out(FakeUnit("tuned", str(build)))
    _, sound = carried_out(FakeUnit("tuned", "new-layout"))

    assert any(item.grade is PunchClass.UNSAFE and "heating protection" in item.text for item in played.punches)
    assert [] == [item for item in sound.punches if "heating protection" in item.text]


def test_the_switch_is_looked_for_again_after_the_reflash() -> None:
    """A unit without the sensor in its build reports it once the new build is on the board."""
    done, _ = carried_out(FakeUnit("tuned-without", "new-size"))

    assert done.found is not None
    assert "filament" == done.found.switch


def watched(unit: FakeUnit, answers: Answers | None = None, *, path: bool = True) -> Played[Watching]:
    """Watching set on this unit, with 18 mm of leftover distance; the reserve was worked out unless `path` is false."""

    def steps() -> Steps[Watching]:
        if path:
            measured = lengths.Path(50.0)
            yield from establish(Reserve.of(measured, lengths.reserve(measured), ()))
        return (yield from watching())

    return SettingsBench(unit, {"watching.distance": "18", **(answers or {})}).play(steps())


def test_watching_is_set_saved_and_proven() -> None:
    """Watching and leftover distance are in after a power-off, with the distance that was typed."""
    unit = FakeUnit("tuned")
    played = watched(unit)

    assert played.result is not None
    assert played.result.lasts is True
    assert (True, 18.0) == (played.result.control.enabled, played.result.control.distance_mm)
    assert [] == played.punches


def test_watching_that_is_not_stored_is_unsafe() -> None:
    """A build that forgets whether it watches is found by the power-off, as an open item of class A."""
    played = watched(FakeUnit("forgets-watching"))

    assert played.result is not None
    assert played.result.lasts is False
    assert [PunchClass.UNSAFE] == [item.grade for item in played.punches]
    assert "runout detection is off" in played.punches[0].text


def test_watching_is_not_proven_by_a_power_cycle_nobody_saw() -> None:
    """With nothing done at the hold point it is on as it was before, and whether it lasts stays open."""
    played = watched(FakeUnit("tuned"), {"watching.power": NOTHING_DONE})

    assert played.result is not None
    assert played.result.lasts is None
    assert [PunchClass.INCOMPLETE] == [item.grade for item in played.punches]
    assert "not proven" in played.punches[0].text


@pytest.mark.parametrize("release", ["watching.set", "watching.save"])
def test_watching_without_a_release_is_an_open_item(release: str) -> None:
    """A refused release leaves things as they are and says so."""
    unit = FakeUnit("tuned")
    played = watched(unit, {release: False})

    assert [PunchClass.INCOMPLETE] == [item.grade for item in played.punches]
    assert ("M412 S1" in unit.sent) is (release == "watching.save")
    assert "M500" not in unit.sent


def test_unknown_control_is_said() -> None:
    """Where the printer does not know the control, nothing is sent and an open item says so."""
    unit = FakeUnit("old-forms")
    played = watched(unit)

    assert ["M412"] == unit.sent
    assert "does not know the command" in played.punches[0].text


def test_a_power_cycle_that_showed_it_is_not_asked_for_again() -> None:
    """Watching that was proven after a power-off is an open gate of the function test, and shown by a test."""

    def steps() -> Steps[GateEvidence]:
        yield from watching()
        return (yield from read_gates(None, None))

    answers = {"watching.distance": "18"}
    lasting = SettingsBench(FakeUnit("tuned"), answers).play(steps()).result
    forgotten = SettingsBench(FakeUnit("forgets-watching"), answers).play(steps()).result

    assert lasting is not None
    assert lasting.enabled_after_power is True
    assert forgotten is not None
    assert forgotten.enabled_after_power is False


def test_a_leftover_that_nobody_worked_out_stays_open() -> None:
    """A distance that is set without the lengths of the path leaves an item that leads to the reserve."""
    (item,) = watched(FakeUnit("sound"), path=False).punches

    assert "The leftover distance is set to 18 mm; whether that fits was not worked out." == item.text
    assert "`commission reserve --trip-to-gear MM`" in item.cure


@pytest.mark.parametrize(("to_gear_mm", "most_mm", "unsafe"), [(50.0, 25.0, False), (17.0, 0.0, True)])
def test_the_path_bounds_the_leftover_distance(to_gear_mm: float, most_mm: float, unsafe: bool) -> None:
    """Where the reserve was worked out, no more than the path allows can be typed; a path too short is unsafe."""

    def steps() -> Steps[Watching]:
        path = lengths.Path(to_gear_mm)  # less the usual 5 queued, 12 of grip, 3 of uncertainty, 5 of a retraction
        yield from establish(Reserve.of(path, lengths.reserve(path), ()))
        return (yield from watching())

    bench = SettingsBench(FakeUnit("tuned"), {"watching.distance": "0"})
    played = bench.play(steps())

    assert [most_mm] == [request.most for request in bench.entered if request.key == "watching.distance"]
    assert unsafe is any("too short" in item.text for item in played.punches)


def test_a_record_of_the_same_run_stands() -> None:
    """After a reflash in the same run no new record is taken in place of the one from before it."""
    unit = FakeUnit("tuned", "new-layout")

    def steps() -> Steps[tuple[SettingsRecord | None, SettingsRecord | None]]:
        first = yield from keep_settings(SHEET, None, None)
        unit.reflash()
        return first, (yield from keep_settings(SHEET, None, None))

    played = SettingsBench(unit).play(steps())

    assert played.result is not None
    assert played.result[0] is not None
    assert played.result[0] == played.result[1]


def test_leaving_the_record_out_keeps_the_reason() -> None:
    """A record that the operator leaves out is in the book as left out, with the reason; nothing is asked of it."""
    unit = FakeUnit("tuned")
    bench = SettingsBench(unit, {"backup.now": False, "backup.skip_reason": "nothing is tuned"})
    played = bench.play(keep_settings(SHEET, None, None))

    assert played.result is None
    assert [] == unit.sent
    assert "nothing is tuned" in played.said(LeftOut)


def test_no_change_is_written() -> None:
    """Where nothing was changed the record says so, instead of leaving it to be inferred."""

    def steps() -> Steps[None]:
        kept = yield from keep_settings(SHEET, None, None)
        yield from settings_as_left(SHEET, kept)

    played = SettingsBench(FakeUnit("tuned")).play(steps())

    assert "No change of settings was made." == played.said(SettingsAsLeft)


def test_a_printer_that_does_not_watch_is_unsafe_when_left_so() -> None:
    """Leaving a printer that does not watch as it is leaves an open item of class A."""
    off = RunoutControl(supported=True, enabled=False, distance_mm=20.0)
    played = SettingsBench(FakeUnit("tuned")).play(offered_watching(off))

    assert [PunchClass.UNSAFE] == [item.grade for item in played.punches]


OWN_UUID = "0f8e4d2c-1111-4222-8333-944455566677"


def announced(firmware: str, machine: str = "Bench 3", uuid: str = OWN_UUID) -> str:
    """An answer to who it is."""
    return f"FIRMWARE_NAME:{firmware} MACHINE_TYPE:{machine} EXTRUDER_COUNT:1 UUID:{uuid}"


@pytest.mark.parametrize(
    ("now", "asked"),
    [
        (announced("ExampleFW 3"), False),
        (announced("ExampleFW 3", uuid=OWN_UUID.replace("0f", "1f")), True),
        (announced("ExampleFW 3", "Lathe"), True),
        ("FIRMWARE_NAME:ExampleFW 3 EXTRUDER_COUNT:1", False),
    ],
)
def test_another_printer_after_the_reflash_is_noticed_before_it_is_written_to(now: str, *, asked: bool) -> None:
    """Another unique number or machine than before is put to the operator; a no ends the run after a question only."""
    sent: list[str] = []

    def respond(request: Request) -> object:
        if not isinstance(request, Ask):
            return None
        sent.append(request.command.text)
        replies = tuple(classify(RawLine.of(line)) for line in (now, "ok"))
        return Exchange(request.command, replies, (), End.ACKNOWLEDGED, 0.0, 0.1)

    phase = ScriptedPhase({"reflash.same": False}, other=respond)
    steps = look_after(SHEET, None, identity_of([announced("ExampleFW 2")]), HoldReleased())

    if asked:
        with pytest.raises(Interrupted, match="another printer answered"):
            phase.play(steps)
    else:
        assert [] == phase.play(steps).asked
    assert ["M115"] == sent
