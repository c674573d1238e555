"""Compares the printer's settings with those on record as they were left, by value; changes nothing."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from commission.judge.acceptance import Criterion
from commission.judge.wording import counted
from commission.procedure.settings_reading import read_settings
from commission.procedure.settings_record import AS_FOUND, AS_LEFT, SettingsRecord, Sheet
from commission.procedure.steps import Steps, establish, recall
from commission.settings.comparison import compare
from commission.settings.comparison_json import as_json
from commission.settings.difference import Difference
from commission.settings.side_by_side import side_by_side
from commission.settings.snapshot import NoReport
from commission.vocabulary import Verdict

AT_CHECK = "settings_at_check"
DRIFT = "settings_drift"
RULE = "No setting differs from those on record"
MOST_SHOWN = 40


def settings_drift(tag: str, today: date, firmware: str) -> Steps[Criterion]:
    """Read the settings and lay them beside the record; without one, these become it."""
    read = yield from read_settings()
    if read.trouble:
        yield from establish(DRIFT, read.trouble, judged=False)
        return Criterion("settings", RULE, read.trouble, Verdict.NOT_JUDGED)
    now = read.record(Sheet(tag, today.isoformat()), firmware)
    name, facts = yield from _on_record()
    yield from establish(AT_CHECK, f"{counted(len(now.snapshot.lines), 'settings line')} read.", **now.facts())
    if facts is None:
        said = "No settings are on record; those read now are the record from now on."
        yield from establish(DRIFT, said, judged=False)
        return Criterion("settings", RULE, said, Verdict.NOT_JUDGED, no_record=True)
    return (yield from _compared(name, facts, now))


def _on_record() -> Steps[tuple[str, Mapping[str, Any] | None]]:
    """As they were left; else as a check before found them; else as they were before anything was changed."""
    for name in (AS_LEFT, AT_CHECK, AS_FOUND):
        facts = yield from recall(name, earlier=True)
        if facts is not None:
            return name, facts
    return "", None


def _compared(name: str, facts: Mapping[str, Any], now: SettingsRecord) -> Steps[Criterion]:
    try:
        before = SettingsRecord.from_facts(facts)
    except NoReport as unreadable:
        yield from establish(DRIFT, str(unreadable), judged=False)
        return Criterion("settings", RULE, str(unreadable), Verdict.NOT_JUDGED)
    comparison = compare(before.snapshot, now.snapshot)
    drifted = [item for item in comparison.items if item.difference is not Difference.SAME]
    said = f"{counted(len(drifted), 'value')} differ from the record of {before.day}." if drifted else ""
    said = said or f"No value differs from the record of {before.day}."
    shown = side_by_side(comparison)[:MOST_SHOWN] if drifted else []
    yield from establish(DRIFT, said, *shown, judged=True, against=name, comparison=as_json(comparison))
    return Criterion("settings", RULE, said, Verdict.CONDITIONAL if drifted else Verdict.PASS)
