"""The overview as values for machines."""

import json
from collections.abc import Sequence
from datetime import date
from typing import Any

from commission.fleet.overview import Done, Printer

FORMAT, VERSION = "commission-overview", 1


def as_json(printers: Sequence[Printer], today: date) -> str:
    """A JSON object; dates are ISO 8601, what is not known is null."""
    values = {"format": FORMAT, "format_version": VERSION, "on": today.isoformat()}
    return json.dumps({**values, "printers": [_printer(each) for each in printers]}, indent=2) + "\n"


def _printer(printer: Printer) -> dict[str, Any]:
    due = printer.due
    return {
        "tag": printer.tag,
        "place": printer.place,
        "standing": printer.standing.value,
        "next_check": None if due is None else due.what,
        "next_on": None if due is None else due.on.isoformat(),
        "because": "nothing is on record" if due is None else due.because,
        "verdict": printer.verdict.value,
        "open_class_a": list(printer.unsafe),
        "runout_detection_off": printer.runout_off,
        "wiring": printer.wiring,
        "last_full_check": _done(printer.full),
        "last_brief_check": _done(printer.brief),
        "last_soak": _done(printer.soak),
        "nuisance_trips": printer.nuisances,
        "changed_since": list(printer.changed),
        "settings_backup_on": None if printer.backup_on is None else printer.backup_on.isoformat(),
        "firmware": printer.firmware,
    }


def _done(done: Done | None) -> dict[str, str] | None:
    return None if done is None else {"on": done.on.isoformat(), "verdict": done.verdict.value}
