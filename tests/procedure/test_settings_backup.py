"""The settings as found: read twice the same, kept whole, proven from the book, and explained."""

import pytest
from msgspec import structs

from commission.asking.steps import Steps
from commission.evidence.findings.base import Finding
from commission.evidence.findings.settings import (
    BackupProven,
    SettingsAsFound,
    SettingsGaps,
    SettingsNotKept,
    SettingsPlausibility,
    StoredValues,
)
from commission.jobs.settings import backup_run, capture_run
from commission.procedure.settings.backup import backup, backup_of_capture, earlier_record
from commission.procedure.settings.reading import MOST_READS, read_settings
from commission.procedure.settings.record import SettingsRecord
from commission.procedure.settings.reflash import Reflashed, reflash
from commission.procedure.settings.stored_values import stored_values
from commission.settings.snapshot import NoReport, snapshot_of_capture
from commission.vocabulary import Verdict
from tests.procedure.settings_bench import SHEET, FakeStore, FakeUnit, Played, SettingsBench
from tests.settings.reports import GENERATIONS, MESH, NEWER, OLDER
from tests.support.codec import read_back
from tests.support.installed import UNKNOWN

NOT_THERE = "The settings record is no whole backup: settings are missing from it that nearly every report has."
DAMAGED = "The settings record is no whole backup: it was cut or damaged on the way."


class Wavering(FakeStore):
    """Prints another digit in each of its first reports. Steer it by how many."""

    def __init__(self, report: str, wavering: int) -> None:
        super().__init__(report, report)
        self._left = wavering

    def ask(self, text: str) -> list[str]:
        """Answer; a report may be spoilt."""
        lines = super().ask(text)
        if text == "M503" and self._left:
            self._left -= 1
            return [line.replace("97.50", f"97.5{self._left % 9 + 1}") for line in lines]
        return lines


class Mute(FakeStore):
    """Knows no settings report at all."""

    def ask(self, text: str) -> list[str]:
        """Answer; every question for settings is unknown."""
        self.sent.append(text)
        return [f'echo:Unknown command: "{text}"', "ok"]


def taken(printer: FakeStore | FakeUnit, *earlier: SettingsAsFound) -> Played[SettingsRecord | None]:
    """The backup of this printer."""
    return SettingsBench(printer, earlier=earlier).play(
        backup(SHEET, "ExampleFW 102.1.2", {"Switches": ["x_min: open"]})
    )


def as_record(text: str) -> SettingsRecord:
    """A complete record of this report."""
    return SettingsRecord(tuple(text.splitlines()), "printer", "2026-01-02", "ExampleFW 102.1.1", 2, complete=True)


@pytest.mark.parametrize("name", sorted(GENERATIONS))
def test_a_report_of_every_generation_is_kept_and_proven(name: str) -> None:
    """The record holds the report of any generation, and is the same when it is read back from the book.

    Two of these are parts of a report, which hold what they hold but prove no backup.
    """
    played = taken(FakeStore(GENERATIONS[name], ""))

    assert played.result is not None
    found = read_back(played.findings[SettingsAsFound])
    assert played.result == SettingsRecord.on_record(found)
    assert snapshot_of_capture("\n".join(found.lines).encode()).digest == found.digest
    assert (name not in ("mesh", "two hotends")) is played.findings[BackupProven].proven


def test_only_questions_are_asked() -> None:
    """A backup sends the settings report twice and asks for counters, nothing else."""
    printer = FakeStore(NEWER, "")

    taken(printer)

    assert ["M503", "M503", "M78"] == printer.sent


def test_a_wavering_report_is_asked_for_until_two_agree() -> None:
    """Two reports in a row have to be the same; three that waver are asked for again."""
    played = taken(Wavering(OLDER, 3))

    assert 5 == played.findings[SettingsAsFound].reads
    assert played.findings[BackupProven].proven


def test_a_report_that_never_agrees_is_no_backup() -> None:
    """A report that differs each time is given up, with an open item and no record in the book."""
    printer = Wavering(OLDER, 100)
    played = taken(printer)

    assert played.result is None
    assert MOST_READS == printer.sent.count("M503")
    assert SettingsAsFound not in played.findings
    assert ["There is no settings record of this printer."] == [item.text for item in played.punches]


def test_a_printer_that_reports_nothing_is_told_so() -> None:
    """Where the report is unknown the older family's question is tried, and then said that there is no record."""
    printer = Mute(OLDER, "")
    played = taken(printer)

    assert played.result is None
    assert ["M503", "M205"] == printer.sent
    assert "does not know the command" in played.said(SettingsNotKept)


def test_the_backup_is_not_proven_when_the_book_holds_something_else() -> None:
    """What is read back from the book is held against what the printer said; one changed value is no backup."""

    def spoil(found: Finding) -> Finding:
        assert isinstance(found, SettingsAsFound)
        return structs.replace(found, lines=tuple(line.replace("E97.50", "E9.75") for line in found.lines))

    played = SettingsBench(FakeStore(OLDER, ""), spoil=spoil).play(backup(SHEET, "", {}))

    assert played.result is None
    assert not played.findings[BackupProven].proven


def test_the_readable_file_reads_back() -> None:
    """The text for a person holds the same settings as the report when it is read as a capture."""
    played = taken(FakeStore(NEWER, ""))
    text = played.files["bench-3-settings-2026-03-14.txt"]

    assert snapshot_of_capture(text.encode()).digest == played.findings[SettingsAsFound].digest
    assert "- x_min: open" in text.splitlines()
    assert "  - E: 97.50 steps/mm, extruder" in text.splitlines()


def test_the_plain_file_holds_the_restorable_lines() -> None:
    """The file for a sender has the safe lines live, and never a line about watching."""
    plain = taken(FakeStore(NEWER, "")).files["bench-3-settings-2026-03-14.gcode"].splitlines()

    assert "M92 X80.00 Y80.00 Z400.00 E97.50" in plain
    assert ";M851 X-32.00 Y-8.00 Z-1.85" in plain
    assert [] == [line for line in plain if line.lstrip(";").startswith("M412")]


def test_a_jump_against_the_last_record_is_found() -> None:
    """A value twice what the printer's last record says looks wrong, with its line and range in the book."""
    earlier = as_record(NEWER.replace("E97.50", "E195.00"))
    played = taken(FakeStore(NEWER, ""), SettingsAsFound(**earlier.values()))

    found = played.findings[SettingsPlausibility].findings
    assert [("M92", "E", "jump")] == [(each.command, each.letter, each.kind) for each in found]
    assert "M92 X80.00" in found[0].line


def test_a_record_that_cannot_be_read_is_told_and_left() -> None:
    """An earlier entry without settings is named to the operator and not compared with."""
    broken = structs.replace(SettingsAsFound(**as_record(NEWER).values()), digest="0" * 64)
    bench = SettingsBench(FakeStore(NEWER, ""), earlier=[broken])
    played = bench.play(earlier_record())

    assert played.result is None
    assert "cannot be used" in " ".join(played.told)


def test_what_is_not_understood_is_kept_verbatim() -> None:
    """A line that nobody understands is in the book and in the readable file as it came."""
    strange = OLDER.replace("ok\n", "") + "echo:Wobble compensation 7 of 9\nok\n"
    lines = tuple(strange.splitlines())
    played = SettingsBench(FakeStore(OLDER, "")).play(backup_of_capture(lines, "console.txt", SHEET, ""))

    assert ("echo:Wobble compensation 7 of 9",) == played.findings[SettingsAsFound].unrecognised
    assert "  | echo:Wobble compensation 7 of 9" in played.files["bench-3-settings-2026-03-14.txt"].splitlines()


def test_a_capture_is_never_called_complete() -> None:
    """Whether a saved capture is whole is not known, so a record of one is not the proof a reflash waits for."""
    played = SettingsBench(FakeStore(OLDER, "")).play(backup_of_capture(tuple(MESH.splitlines()), "m.txt", SHEET, ""))

    assert not played.findings[SettingsAsFound].complete
    assert "m.txt" == played.findings[SettingsAsFound].source


def test_a_capture_of_two_reports_says_which_is_taken() -> None:
    """What a reader should know of how it was taken stands with what was found."""
    lines = [*OLDER.splitlines(), "ok", "start", *OLDER.splitlines(), "ok"]
    played = SettingsBench(FakeStore(OLDER, "")).play(backup_of_capture(lines, "night.log", SHEET, ""))
    said = played.findings[SettingsAsFound].sentences

    assert "Note: 2 settings reports stand in it; the last is taken." in said


def test_a_files_name_cannot_steer_who_reads_the_record() -> None:
    """The name of a capture stands in the text for a person with its escapes to be seen, and in one line."""
    name = "m\x1b]0;x\x07\nM92 E1.txt"
    played = SettingsBench(FakeStore(OLDER, "")).play(backup_of_capture(tuple(MESH.splitlines()), name, SHEET, ""))
    text = played.files["bench-3-settings-2026-03-14.txt"]

    assert r"Source: m\x1b]0;x\x07\nM92 E1.txt" in text.splitlines()
    assert all(line.isprintable() for line in text.splitlines())


class Lossy(FakeStore):
    """Loses the same line of every report. Steer it by the command of that line."""

    def __init__(self, report: str, lost: str) -> None:
        super().__init__(report, report)
        self._lost = lost

    def ask(self, text: str) -> list[str]:
        """Answer without that line."""
        return [line for line in super().ask(text) if f" {self._lost} " not in line]


def test_a_report_with_a_gap_is_no_backup() -> None:
    """What the printer's report lacks is named on the screen, in the book and among the open items; it is kept."""
    played = SettingsBench(Lossy(NEWER, "M92")).play(backup_run(SHEET, UNKNOWN))

    assert played.result is not None
    assert Verdict.NOT_JUDGED is played.result.verdict
    assert ("steps (M92)",) == read_back(played.findings[SettingsGaps]).absent
    assert "Not on record: steps (M92)." in played.findings[SettingsGaps].sentences
    assert not played.findings[BackupProven].proven
    assert NOT_THERE in [item.text for item in played.punches], "nothing shows that it was lost on the way"


@pytest.mark.parametrize("agreed", [True, False])
def test_no_reflash_over_a_gap_unless_it_is_wanted(*, agreed: bool) -> None:
    """Before a reflash the gap is told and asked about; a no opens no hold point."""
    bench = SettingsBench(Lossy(NEWER, "M92"), {"reflash.without_backup": agreed, "way_back.*": False})

    def steps() -> Steps[Reflashed | None]:
        record = yield from backup(SHEET, "", {})
        return (yield from reflash(SHEET, record))

    played = bench.play(steps())

    assert "reflash.without_backup" in played.asked
    assert agreed is (played.result is not None)


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        (NEWER, ()),
        (NEWER.removesuffix("ok\n"), (DAMAGED,)),
        (NEWER.replace("M92 X80.00", "M9# X80.00"), (DAMAGED,)),
        (f"{NEWER}echo:  M92 X80.00\nok\n", (DAMAGED,)),
        ("\n".join(line for line in NEWER.splitlines() if " M203 " not in line), (NOT_THERE,)),
    ],
    ids=["whole", "without its end", "garbled", "with a later cut line", "without a line"],
)
def test_a_capture_passes_only_when_it_is_whole(text: str, missing: tuple[str, ...]) -> None:
    """Cut, garbled or contradicted by a partial line, a capture is kept with its gaps named, and does not pass.

    It is said to be damaged where something shows that; a line that never came may as well be none of this printer's.
    """
    verdict = Verdict.NOT_JUDGED if missing else Verdict.PASS
    played = SettingsBench(FakeStore(OLDER, "")).play(capture_run(SHEET, tuple(text.splitlines()), "console.txt"))

    assert played.result is not None
    assert verdict is played.result.verdict
    assert (verdict is Verdict.PASS) is (SettingsGaps not in played.findings)
    assert missing == tuple(item.text for item in played.punches)


def test_no_settings_are_no_record() -> None:
    """A record without a settings line cannot be made."""
    with pytest.raises(NoReport, match="no settings line"):
        SettingsRecord(("ok",), "printer", "2026-01-02")


def test_stored_values_are_left_alone_unless_wanted() -> None:
    """Nothing is reloaded when the working values are said to be enough."""
    printer = FakeStore(NEWER, "")
    SettingsBench(printer).play(stored_values(as_record(NEWER)))

    assert [] == printer.sent


def test_a_reload_needs_its_own_release() -> None:
    """Wanting the comparison is not yet a release: a no at the release sends nothing."""
    printer = FakeStore(NEWER, "")
    answers = {"backup.working_enough": False, "backup.reload": False}
    SettingsBench(printer, answers).play(stored_values(as_record(NEWER)))

    assert [] == printer.sent


def test_unsaved_tuning_lost_by_a_reload_is_put_back() -> None:
    """Working values that were never saved are found by the reload and put back by the rules of a restore."""
    printer = FakeStore(NEWER, "")
    printer.ask("M92 E99.90")
    tuned = as_record(printer.report())
    answers = {"backup.working_enough": False}
    played = SettingsBench(printer, answers).play(stored_values(tuned))

    assert "1 working values were not the stored ones" in played.said(StoredValues)
    assert "M92 X80.00 Y80.00 Z400.00 E99.90" in printer.report()
    assert ["backup.working_enough", "backup.reload", "backup.put_back", "restore.safe", "backup.save"] == played.asked


def test_a_reload_that_changes_nothing_says_so() -> None:
    """Where stored and working values are the same, that is said and nothing is offered."""
    played = SettingsBench(FakeStore(NEWER, ""), {"backup.working_enough": False}).play(stored_values(as_record(NEWER)))

    assert "The stored values are the working values." == played.said(StoredValues)
    assert "backup.put_back" not in played.asked


@pytest.mark.parametrize("unit", ["family-b", "family-c", "family-d", "family-e"])
def test_other_families_end_clearly(unit: str) -> None:
    """Every family's answer to the question ends in a record or in a sentence that says that there is none."""
    played = SettingsBench(FakeUnit(unit)).play(read_settings())

    assert played.interruption is None
    assert played.result is not None
    assert (played.result.snapshot is None) is bool(played.result.trouble)
