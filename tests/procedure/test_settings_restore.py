"""The restore: shown whole, released, sent line by line, read back, saved once, proven, and told where it stopped."""

import pytest

from commission.dialect.commands import SETTINGS
from commission.dialect.storage import storage_events_of
from commission.evidence.findings.settings import RestoreSent, RestoreSource, RestoreStopped, SettingsAfterRestore
from commission.jobs.settings import restore_run
from commission.procedure.settings.record import SettingsRecord
from commission.procedure.settings.restore import Restored, restore
from commission.procedure.settings.restore_batch import batches, plan_lines
from commission.procedure.settings.saving import Saved, outcome
from commission.settings.plan_items import Decision
from commission.settings.restore_plan import plan_restore
from commission.vocabulary import Verdict
from tests.procedure.settings_bench import NOTHING_DONE, SHEET, Answers, FakeStore, Played, SettingsBench
from tests.settings.reports import MESH, NEWER, snapshot
from tests.support.installed import UNKNOWN

DEFAULTS = NEWER.replace("E97.50", "E93.00").replace("Y9.00", "Y8.00").replace("Z-1.85", "Z0.00").replace("U90", "U50")


def record(text: str = NEWER) -> SettingsRecord:
    """The settings as found."""
    return SettingsRecord(tuple(text.splitlines()), "printer", "2026-01-02", "ExampleFW 102.1.1", 2, complete=True)


def restored(printer: FakeStore, answers: Answers | None = None, text: str = NEWER) -> Played[Restored]:
    """A restore of this report into this printer."""
    return SettingsBench(printer, answers).play(restore(record(text), SHEET, "ExampleFW 102.1.2"))


def settings_sent(printer: FakeStore) -> list[str]:
    """What was sent beyond questions, saves and reloads."""
    return [line for line in printer.sent if line.split()[0] not in ("M503", "M500", "M501", "M78", "M115")]


def verdict(played: Played[Restored]) -> Verdict:
    """The verdict of a restore that came to its end."""
    assert played.result is not None, played.interruption
    return played.result.verdict


def test_safe_and_asked_values_come_back() -> None:
    """With everything released the printer reports the record again, from its storage, and the verdict is a pass."""
    printer = FakeStore(DEFAULTS, DEFAULTS)
    played = restored(printer)

    assert Verdict.PASS is verdict(played)
    assert snapshot(NEWER).digest == snapshot(printer.report()).digest
    assert 1 == printer.sent.count("M500")


def test_each_line_is_read_back_before_the_next() -> None:
    """Between any two settings lines stands a question for the settings."""
    printer = FakeStore(DEFAULTS, DEFAULTS)
    restored(printer)
    begin = printer.sent.index(settings_sent(printer)[0])
    during = printer.sent[begin : printer.sent.index("M500")]

    assert len(settings_sent(printer)) > 2
    assert during[::2] == settings_sent(printer)
    assert set(during[1::2]) == {SETTINGS.text}


def test_the_plan_is_shown_before_anything_is_asked() -> None:
    """The whole plan, refused lines with their reasons included, is on the screen before the first release."""
    changed = DEFAULTS.replace("M412 S1 D18.00", "M412 S0 D5.00")
    plan = plan_restore(snapshot(NEWER), snapshot(changed))
    played = restored(FakeStore(changed, changed), {"restore.safe": False, "restore.one_by_one": False, "*": False})

    assert set(plan_lines(plan)) <= set(played.told)
    assert any(line.strip().startswith("M412") and "commissioned" in line for line in plan_lines(plan))


def test_a_line_with_a_trap_goes_out_only_when_it_is_released() -> None:
    """The probe offset is asked by itself; a no leaves it and makes the result conditional."""
    printer = FakeStore(DEFAULTS, DEFAULTS)
    played = restored(printer, {"restore.line.M851": False, "restore.proof": "power"})

    assert "restore.line.M851" in played.asked
    assert [] == [line for line in printer.sent if line.startswith("M851")]
    assert Verdict.CONDITIONAL is verdict(played)
    assert "M851" in (played.result.why if played.result else "")


def test_ticked_lines_can_be_decided_one_by_one() -> None:
    """A no to the ticked lines leads to each by itself."""
    printer = FakeStore(DEFAULTS, DEFAULTS)
    answers = {"restore.safe": False, "restore.tick.1": True, "restore.tick.*": False}
    played = restored(printer, answers)

    assert ["M92", "M851"] == [line.split()[0] for line in settings_sent(printer)]
    assert 2 == len(played.findings[RestoreSent].declined)


def test_nothing_released_sends_nothing() -> None:
    """With every release refused nothing but questions goes out."""
    printer = FakeStore(DEFAULTS, DEFAULTS)
    played = restored(printer, {"restore.proof": "none", "*": False})

    assert {"M503"} == set(printer.sent)
    assert Verdict.NOT_JUDGED is verdict(played)
    assert "restore.save" not in played.asked, "there is nothing to save"
    assert any("Recorded values were not put back" in item.text for item in played.punches)


def test_a_line_that_is_not_taken_stops_it() -> None:
    """The first line that does not read back stops the restore; what is in and what is not is said exactly."""
    printer = FakeStore(DEFAULTS, DEFAULTS, faults={2: "ignored"})
    played = restored(printer)
    stopped = played.findings[RestoreStopped]

    assert Verdict.FAIL is verdict(played)
    assert 1 == len(stopped.proven)
    assert (settings_sent(printer)[1],) == stopped.doubtful
    assert 2 == len(settings_sent(printer))
    assert stopped.not_sent
    assert "M500" not in printer.sent
    assert "Run `commission restore TAG --port PORT` again" in played.said(RestoreStopped)


def test_a_restore_that_stopped_says_what_became_of_each_line() -> None:
    """Every line stands in one of three sentences, and the last one says what to do."""
    printer = FakeStore(DEFAULTS, DEFAULTS, faults={2: "ignored"})
    played = restored(printer)
    stopped = played.findings[RestoreStopped]
    first, second = settings_sent(printer)

    assert 2 <= len(stopped.not_sent)
    assert (
        f"The restore has stopped. {stopped.why}",
        f"In and read back: {first}.",
        f"Sent and not proven: {second}.",
        f"Not sent: {', '.join(stopped.not_sent)}.",
        "Run `commission restore TAG --port PORT` again: it reads the settings anew and plans only what still differs.",
    ) == tuple(stopped.sentences)


def test_a_lost_acknowledgement_is_settled_by_reading_back() -> None:
    """A line that was taken without an acknowledgement is neither sent again nor given up."""
    printer = FakeStore(DEFAULTS, DEFAULTS, faults={1: "no answer"})
    played = restored(printer)

    assert Verdict.PASS is verdict(played)
    assert len(set(settings_sent(printer))) == len(settings_sent(printer))


def test_a_restart_in_the_middle_ends_it_with_the_state_told() -> None:
    """When the board restarts, the run ends, and what was sent is said to be gone since nothing was saved."""
    printer = FakeStore(DEFAULTS, DEFAULTS, faults={3: "restart"})
    played = restored(printer)

    assert played.result is None
    assert played.interruption is not None
    assert "none of these lines is in" in played.said(RestoreStopped)
    assert 2 == len(played.findings[RestoreStopped].proven)


def test_running_again_sends_only_what_still_differs() -> None:
    """After a stop a new restore plans anew: what is in is not sent again, and all comes back."""
    printer = FakeStore(DEFAULTS, DEFAULTS, faults={2: "ignored"})
    restored(printer)
    first = settings_sent(printer)
    printer.sent.clear()
    played = restored(printer)

    assert Verdict.PASS is verdict(played)
    assert first[0] not in settings_sent(printer)
    assert first[1] in settings_sent(printer)


def test_a_second_run_after_success_has_only_to_save() -> None:
    """When nothing differs any more nothing is sent; saving and proving are still offered."""
    printer = FakeStore(DEFAULTS, DEFAULTS)
    restored(printer)
    printer.sent.clear()
    played = restored(printer)

    assert [] == settings_sent(printer)
    assert ["restore.save", "restore.proof", "restore.power"] == played.asked
    assert any("That does not tell whether they are stored" in line for line in played.told), "why a save is offered"
    assert Verdict.PASS is verdict(played)


def test_a_power_cycle_that_nobody_saw_proves_nothing_stored() -> None:
    """Released with nothing done, the working values are read once more and called proven by nobody."""
    played = restored(FakeStore(DEFAULTS, DEFAULTS), {"restore.power": NOTHING_DONE})

    assert played.result is not None
    assert Verdict.NOT_JUDGED is played.result.verdict
    assert "not seen to begin anew" in played.result.why
    assert "not proven from storage" in played.said(SettingsAfterRestore)
    assert any("not heard to begin anew" in line for line in played.told)
    assert ["It is not proven that the restored settings last."] == [item.text for item in played.punches]


def test_a_power_cycle_that_was_seen_is_said_to_be() -> None:
    """What was seen stands on the screen, before it is called proven."""
    played = restored(FakeStore(DEFAULTS, DEFAULTS))

    assert any(line.startswith("Seen: the printer began anew") for line in played.told)


def test_a_reload_proves_under_a_release() -> None:
    """The quicker proof is a release of its own; refused, the result is not judged."""
    printer = FakeStore(DEFAULTS, DEFAULTS)
    refused = restored(printer, {"restore.proof": "reload", "restore.reload": False})

    assert "M501" not in printer.sent
    assert Verdict.NOT_JUDGED is verdict(refused)
    assert Verdict.PASS is verdict(restored(printer, {"restore.proof": "reload"}))
    assert 1 == printer.sent.count("M501")


class Forgetful(FakeStore):
    """Says that it stored, and does not."""

    def ask(self, text: str) -> list[str]:
        """Answer."""
        if text == "M500":
            self.sent.append(text)
            return ["echo:Settings Stored (100 bytes; crc 1)", "ok"]
        return super().ask(text)


def test_values_that_do_not_last_are_a_fail() -> None:
    """A store that kept nothing is found by the power cycle, whatever it said, and each lost value is named."""
    played = restored(Forgetful(DEFAULTS, DEFAULTS))

    assert Verdict.FAIL is verdict(played)
    assert len(played.findings[SettingsAfterRestore].lost) >= 4
    assert "Did not last" in played.said(SettingsAfterRestore)


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        (["echo:Settings Stored (685 bytes; crc 53261)"], Saved.STORED),
        (["echo:Settings Stored"], Saved.STORED),
        (["echo:Settings Stored (685 bytes; crc 53261)", "Error:EEPROM datasize error."], Saved.FAILED),
        (["Error:EEPROM disabled"], Saved.DISABLED),
        (["Error:Error writing to EEPROM!"], Saved.FAILED),
        ([], Saved.UNSAID),
    ],
)
def test_a_save_is_judged_by_what_follows_it(lines: list[str], expected: Saved) -> None:
    """`Stored` with an error behind it is a failure; silence is neither."""
    assert expected is outcome(storage_events_of(lines))


def test_a_mesh_is_one_question_and_is_read_back_whole() -> None:
    """The points of a mesh share one trap: they are released together, sent one by one, and read back once."""
    flat = MESH.replace("Z0.20125", "Z0.00000").replace("Z0.11000", "Z0.00000")
    printer = FakeStore(flat, flat)
    played = restored(printer, text=MESH)

    assert ["restore.line.G29"] == [key for key in played.asked if key.startswith("restore.line")]
    assert ["G29 W I0 J0 Z0.20125", "G29 W I1 J0 Z0.11000"] == settings_sent(printer)
    assert Verdict.PASS is verdict(played)


def test_the_mesh_is_switched_on_after_its_points() -> None:
    """The line that puts the mesh to use is the last of the plan."""
    off = MESH.replace("M420 S1", "M420 S0").replace("Z0.20125", "Z0.00000")
    plan = plan_restore(snapshot(MESH), snapshot(off))

    assert ["G29", "M420"] == [batch.lines[0].meaning.command for batch in batches(plan)]


def test_a_mesh_that_was_declined_is_not_switched_on() -> None:
    """Without its points the line that puts the mesh to use is neither asked nor sent; the screen says why."""
    off = MESH.replace("M420 S1", "M420 S0").replace("Z0.20125", "Z0.00000")
    printer = FakeStore(off, off)
    played = restored(printer, {"restore.line.G29*": False, "restore.proof": "power"}, text=MESH)

    assert ["restore.line.G29.I0.J0"] == [key for key in played.asked if key.startswith("restore.line")]
    assert [] == settings_sent(printer)
    assert any(said.startswith("Not asked: M420") for said in played.told)
    assert 2 == len(played.findings[RestoreSent].declined)


def test_a_changed_leftover_leads_to_the_reserve() -> None:
    """The leftover distance is not put back from an old report: a changed one is an open item."""
    changed = NEWER.replace("M412 S1 D18.00", "M412 S1 D5.00")
    (item,) = restored(FakeStore(changed, changed)).punches

    assert "The leftover distance was 18.00 mm and is 5.00 mm now; it is not put back." == item.text
    assert "`commission reserve --trip-to-gear MM`" in item.cure


def test_every_sendable_item_is_in_exactly_one_batch() -> None:
    """Grouping loses no line of the plan and doubles none."""
    plan = plan_restore(snapshot(NEWER), snapshot(DEFAULTS))
    planned = [item.line.text for item in plan.items if item.line is not None]

    assert planned == [line.text for batch in batches(plan) for line in batch.lines]
    assert {Decision.SEND, Decision.ASK} == {item.decision for batch in batches(plan) for item in batch.items}


def test_the_record_is_chosen_where_there_are_several() -> None:
    """With several records the operator says which one; that one is put back."""
    printer = FakeStore(DEFAULTS, DEFAULTS)
    records = [("bench-3/2026-03-01/1", record(DEFAULTS)), ("bench-3/2026-01-02/1", record())]
    bench = SettingsBench(printer, {"restore.record": "second", "restore.proof": "power"})
    played = bench.play(restore_run(SHEET, records, UNKNOWN))

    assert played.result is not None
    assert Verdict.PASS is played.result.verdict
    assert "bench-3/2026-01-02/1" == played.findings[RestoreSource].run
    assert snapshot(NEWER).digest == snapshot(printer.report()).digest


def test_inches_are_put_back_in_inches_only() -> None:
    """A record in inches is not put back into a printer that thinks in millimetres."""
    inches = NEWER.replace("G21 ; (mm)", "G20 ; (in)")
    printer = FakeStore(DEFAULTS, DEFAULTS)
    restored(printer, text=inches)

    assert [] == [line for line in settings_sent(printer) if line.split()[0] in ("M92", "M203", "M201", "M851", "M603")]


def test_the_plan_on_the_screen() -> None:
    """Every line of a plan is on the screen with its tick, its purpose and its numbers; a refused mesh is counted."""
    as_found = "  M92 X80.00 E97.50\n  M301 P19.40 I1.21 D77.70\n  M412 S1 D18.00\n" + MESH
    now = "  M92 X80.00 E93.00\n  M301 P21.50 I1.21 D77.70\n"
    plan = plan_restore(snapshot(as_found), snapshot(now))

    assert (
        "Ticked, sent after one release:",
        "  [x] 1. M92 E97.50",
        "         motor steps for one millimetre: sizes, layer height and the amount of filament fed",
        "         E from 93.00 to 97.50",
        "Asked one by one:",
        "  [ ] 2. M301 P19.40 I1.21 D77.70",
        "         control of the hotend heater",
        "         P from 21.50 to 19.40",
        "Not put back:",
        "  M412 SD: It is the very thing that is being commissioned: set afresh from the lengths of this machine, "
        "never from an old report.",
        "  M420 SZ: The firmware at hand does not print it, so it could not be read back and proven.",
        "  G29 I0 J0 Z, G29 I1 J0 Z, G29 I0 J1 Z, G29 I1 J1 Z: The firmware at hand does not print it, so it could not "
        "be read back and proven.",
        "As it was found already: M92 X, M301 ID.",
    ) == plan_lines(plan)
