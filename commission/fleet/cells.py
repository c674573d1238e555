"""The words of the overview: each printer as labelled cells, the same for the screen, the page and the table file."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from commission.dialect.sanitise import clean_text
from commission.fleet.overview import Done, Printer
from commission.judge.wording import counted
from commission.records.due import Standing

NOTHING = "-"
SHAPES: Mapping[Standing, str] = {
    Standing.AT_ONCE: "▲",
    Standing.OVERDUE: "■",
    Standing.SOON: "◆",
    Standing.IN_DATE: "●",
}
"""A shape beside each word, so that nothing is said by colour alone."""
HEADINGS: Mapping[str, str] = {
    "tag": "printer",
    "place": "place",
    "state": "state",
    "next": "next",
    "because": "because",
    "verdict": "verdict",
    "unsafe": "class A",
    "runout": "runout detection",
    "wiring": "wiring",
    "full": "full check",
    "brief": "brief check",
    "soak": "soak",
    "nuisances": "nuisance trips",
    "changed": "changed since",
    "backup": "settings backup",
    "firmware": "firmware",
}
"""Every cell and its heading, in the order in which they are shown."""


@dataclass(frozen=True)
class Cells:
    """One printer in words.

    Attributes:
        standing: how urgent it is.
        words: by the keys of `HEADINGS`.
        alarms: the keys of those that somebody must act upon.
    """

    standing: Standing
    words: Mapping[str, str]
    alarms: frozenset[str]


def cells_of(printer: Printer, today: date) -> Cells:
    """The printer in words, made printable."""
    due = printer.due
    words = {
        "tag": printer.tag,
        "place": printer.place or NOTHING,
        "state": printer.standing.value,
        "next": "full check" if due is None else f"{due.what} by {due.on}",
        "because": "nothing is on record" if due is None else due.because,
        "verdict": printer.verdict.value,
        "unsafe": str(len(printer.unsafe)),
        "runout": {True: "OFF", False: "on", None: "not known"}[printer.runout_off],
        "wiring": printer.wiring,
        "full": _done(printer.full),
        "brief": _done(printer.brief),
        "soak": _done(printer.soak),
        "nuisances": str(printer.nuisances),
        "changed": ", ".join(printer.changed) or "nothing",
        "backup": _age(printer.backup_on, today),
        "firmware": printer.firmware or NOTHING,
    }
    alarms = {
        "unsafe": bool(printer.unsafe),
        "runout": printer.runout_off is True,
        "wiring": printer.wiring in ("fail-danger", "unsteady"),
        "nuisances": printer.nuisances > 0,
    }
    raised = frozenset(key for key, raised in alarms.items() if raised)
    return Cells(printer.standing, {key: clean_text(text) for key, text in words.items()}, raised)


def _done(done: Done | None) -> str:
    return NOTHING if done is None else f"{done.on} {done.verdict.value}"


def _age(on: date | None, today: date) -> str:
    if on is None:
        return "none"
    days = (today - on).days
    return "today" if days <= 0 else f"{counted(days, 'day')} old"


def in_short(printers: list[Cells]) -> str:
    """How many printers stand how, in one line; each state that occurs, the worst first."""
    numbers = {standing: sum(each.standing is standing for each in printers) for standing in Standing}
    said = [f"{SHAPES[standing]} {count} {standing.value}" for standing, count in numbers.items() if count]
    return "   ".join(said) or "no printer is on record"
