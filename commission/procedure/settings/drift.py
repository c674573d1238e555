"""Compares the printer's settings with those on record as they were left, by value; changes nothing."""

from datetime import date

from commission.asking.steps import Steps, establish, recall
from commission.dialect.identity import Identity
from commission.evidence.findings.compared import Compared
from commission.evidence.findings.settings import (
    SettingsAsFound,
    SettingsAsLeft,
    SettingsAtCheck,
    SettingsDrift,
    SettingsReported,
)
from commission.judge.acceptance import Criterion
from commission.judge.wording import counted
from commission.procedure.settings.as_text import keeps_a_file
from commission.procedure.settings.reading import read_settings
from commission.procedure.settings.record import SettingsRecord, Sheet
from commission.settings.comparison import compare
from commission.settings.difference import Difference
from commission.settings.side_by_side import side_by_side
from commission.settings.snapshot import NoReport
from commission.vocabulary import Verdict

RULE = "No setting differs from those on record"
IN_A_FILE = "The printer keeps its settings in a file of its own: compare that with your copy."
MOST_SHOWN = 40


def settings_drift(tag: str, today: date, firmware: str, identity: Identity | None = None) -> Steps[Criterion]:
    """Read the settings and lay them beside the record; without one, these become it."""
    if keeps_a_file(identity) is not None:
        yield from establish(SettingsDrift(sentences=(IN_A_FILE,), judged=False))
        return Criterion("settings", RULE, IN_A_FILE, Verdict.NOT_JUDGED)
    read = yield from read_settings()
    if read.trouble:
        yield from establish(SettingsDrift(sentences=(read.trouble,), judged=False))
        return Criterion("settings", RULE, read.trouble, Verdict.NOT_JUDGED)
    now = read.record(Sheet(tag, today.isoformat()), firmware)
    recorded = yield from _on_record()
    counts = f"{counted(len(now.snapshot.lines), 'settings line')} read."
    yield from establish(SettingsAtCheck(sentences=(counts,), **now.values()))
    if recorded is None:
        said = "No settings are on record; those read now are the record from now on."
        yield from establish(SettingsDrift(sentences=(said,), judged=False))
        return Criterion("settings", RULE, said, Verdict.NOT_JUDGED, no_record=True)
    return (yield from _compared(recorded, now))


def _on_record() -> Steps[SettingsReported | None]:
    """As they were left; else as a check before found them; else as they were before anything was changed."""
    kinds: tuple[type[SettingsReported], ...] = (SettingsAsLeft, SettingsAtCheck, SettingsAsFound)
    for kind in kinds:
        found = yield from recall(kind, earlier=True)
        if found is not None:
            return found
    return None


def _compared(recorded: SettingsReported, now: SettingsRecord) -> Steps[Criterion]:
    try:
        before = SettingsRecord.on_record(recorded)
    except NoReport as unreadable:
        yield from establish(SettingsDrift(sentences=(str(unreadable),), judged=False))
        return Criterion("settings", RULE, str(unreadable), Verdict.NOT_JUDGED)
    comparison = compare(before.snapshot, now.snapshot)
    drifted = [item for item in comparison.items if item.difference is not Difference.SAME]
    said = f"{counted(len(drifted), 'value')} differ from the record of {before.day}." if drifted else ""
    said = said or f"No value differs from the record of {before.day}."
    shown = side_by_side(comparison)[:MOST_SHOWN] if drifted else []
    compared = Compared.of(comparison)
    yield from establish(
        SettingsDrift(sentences=(said, *shown), judged=True, against=recorded.name(), comparison=compared)
    )
    return Criterion("settings", RULE, said, Verdict.CONDITIONAL if drifted else Verdict.PASS)
