"""What a command leaves changed at the printer, told by its text: from this the way back is planned.

Told by the text and not by the command itself, because after a run that was killed only the text is on record.
"""

import re
from enum import Enum

from commission.dialect import commands

_CODE = re.compile(r"[A-Z]\d+")


class SwitchedOn(Enum):
    """One thing that is put back at the end."""

    COLD_EXTRUSION = "the cold extrusion limit"
    KEEPALIVE = "the interval of busy lines"
    TEMPERATURE_REPORTS = "the interval of temperature reports"
    JOB_TIMER = "the print job timer"
    RELATIVE_MOVES = "coordinates taken as relative"
    RELATIVE_EXTRUSION = "filament lengths taken as relative"
    PART_FAN = "the part fan"
    CARD_JOB = "a job from the card that was started for this run"


def _code(text: str) -> str:
    found = _CODE.match(text)
    return found[0] if found else ""


_CHANGES: dict[str, SwitchedOn] = {
    _code(command.text): change
    for command, change in (
        (commands.permit_cold_extrusion(on=True), SwitchedOn.COLD_EXTRUSION),
        (commands.keepalive_interval(0), SwitchedOn.KEEPALIVE),
        (commands.temperature_reports(1), SwitchedOn.TEMPERATURE_REPORTS),
        (commands.START_JOB, SwitchedOn.JOB_TIMER),
        (commands.RELATIVE_MOVES, SwitchedOn.RELATIVE_MOVES),
        (commands.RELATIVE_EXTRUSION, SwitchedOn.RELATIVE_EXTRUSION),
        (commands.FAN_ON, SwitchedOn.PART_FAN),
    )
}


def change_of(text: str) -> SwitchedOn | None:
    """What a command that does more than read leaves changed; None when nothing is to be put back after it."""
    return _CHANGES.get(_code(text))
