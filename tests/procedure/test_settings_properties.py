"""Whatever the settings were, safe ones come back; however a backup was edited, nothing dangerous reaches the wire."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.asking.steps import Steps
from commission.evidence.findings.settings import Restore, SettingsAsFound
from commission.jobs.settings_share import offered_reflash
from commission.procedure.settings.backup import backup, backup_of_capture
from commission.procedure.settings.record import SettingsRecord
from commission.procedure.settings.restore import restore
from commission.settings.comparison import compare
from commission.settings.difference import Difference
from commission.settings.readable_file import AS_PRINTED, printed_part
from commission.settings.snapshot import NoReport, snapshot_of_capture
from commission.vocabulary import Verdict
from tests.procedure.settings_bench import SHEET, FakeStore, FakeUnit, SettingsBench
from tests.settings.reports import MESH, NEWER, OLDER, snapshot
from tests.settings.test_restore_properties import DANGEROUS, assert_harmless, hostile_report, safe_report
from tests.support.sweeps import as_many

OUR_OWN = {"M503", "M500", "M501", "M502", "M115", "M78", "M205", "M119", "M412"}


def reflashed() -> Steps[SettingsRecord]:
    """Backup, reflash, restore."""
    record = yield from backup(SHEET, "ExampleFW", {})
    assert record is not None
    yield from offered_reflash(SHEET, record, None)
    return record


@pytest.mark.swept
@given(as_found=safe_report(), defaults=safe_report())
@settings(deadline=None, max_examples=as_many(10, 30))
def test_safe_values_come_back_through_a_reflash(as_found: str, defaults: str) -> None:
    """For any settings and any defaults, backup, reflash and restore leave no difference in the safe commands."""
    printer = FakeStore(as_found, defaults)
    played = SettingsBench(printer, {"reflash.stays": False, "way_back.*": False}).play(reflashed())

    assert played.result is not None
    comparison = compare(played.result.snapshot, snapshot(printer.report()))
    assert [] == [item for item in comparison.items if item.difference is not Difference.SAME]
    if "restore.now" in played.asked:
        assert Verdict.PASS is played.findings[Restore].verdict


def sent_from(edited: str, current: str) -> list[str]:
    """Every line that goes out when this edited backup is recorded and put back with everything released."""
    lines = tuple(edited.splitlines())
    printer = FakeStore(current, current)
    bench = SettingsBench(printer)
    bench.play(backup_of_capture(lines, "edited.txt", SHEET, ""))
    record = SettingsRecord(lines, "edited.txt", SHEET.day)
    played = bench.play(restore(record, SHEET, ""))
    assert played.interruption is None
    return printer.sent


def has_settings(text: str) -> bool:
    """Whether a capture would be taken at all."""
    try:
        return bool(SettingsRecord(tuple(text.splitlines()), "", "").lines)
    except NoReport:
        return False


@pytest.mark.swept
@given(edited=hostile_report().filter(has_settings), current=st.sampled_from([OLDER, NEWER, MESH]))
@settings(deadline=None, max_examples=as_many(10, 30))
def test_no_edited_backup_gets_a_dangerous_line_out(edited: str, current: str) -> None:
    """However a saved capture is edited, every line that is sent is ours or a harmless one of the allow-list."""
    for line in sent_from(edited, current):
        if line not in OUR_OWN:
            assert_harmless(line)


@given(
    edits=st.lists(st.tuples(st.integers(0, 60), st.sampled_from(DANGEROUS), st.booleans()), min_size=1, max_size=6),
    kept=st.sampled_from(["txt", "gcode"]),
)
@settings(deadline=None, max_examples=as_many(10, 30))
def test_no_edit_of_a_kept_file_reaches_a_simulated_printer(edits: list[tuple[int, str, bool]], kept: str) -> None:
    """The files that a backup leaves, edited by hand and taken as a record, bring no refused line onto the wire."""
    unit = FakeUnit("tuned", "new-layout")
    played = SettingsBench(unit).play(backup(SHEET, "ExampleFW", {}))
    lines = played.files[f"bench-3-settings-{SHEET.day}.{kept}"].splitlines()
    for place, danger, replaces in edits:
        at = place % len(lines)
        lines[at : at + replaces] = [f"echo:  {danger}"]
    unit.reflash()
    unit.host.printer.received_lines.clear()
    if not has_settings("\n".join(lines)):
        return

    SettingsBench(unit).play(restore(SettingsRecord(tuple(lines), kept, SHEET.day), SHEET, ""))

    for line in unit.host.printer.received_lines:
        if line not in OUR_OWN:
            assert_harmless(line)


def test_the_files_read_back_as_they_were() -> None:
    """An unedited readable file is the same record again: the property above starts from a whole one."""
    unit = FakeUnit("tuned")
    played = SettingsBench(unit).play(backup(SHEET, "ExampleFW", {}))
    text = played.files[f"bench-3-settings-{SHEET.day}.txt"]

    assert played.findings[SettingsAsFound].digest == snapshot_of_capture(text.encode()).digest
    assert played.findings[SettingsAsFound].lines == printed_part(text.splitlines())


def test_a_capture_that_is_no_readable_file_is_taken_whole() -> None:
    """Only the tool's own heading of the report cuts anything off; half of it does not."""
    lines = ("echo:  M92 X80.00", AS_PRINTED, "echo:  M203 X300.00")

    assert lines == printed_part(lines)
