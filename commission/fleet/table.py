"""The overview as text: a table where it fits, else two lines and more for each printer."""

import csv
import io
import textwrap
from collections.abc import Sequence

from commission.fleet.cells import HEADINGS, NOTHING, SHAPES, Cells, in_short

GAP = "  "
LABELLED = ("place", "verdict", "unsafe", "runout", "wiring", "full", "brief", "soak", "nuisances", "changed", "backup")
WIDEST = 34
"""A longer text is told in lines of its own, not in a table that no screen is wide enough for."""


def as_text(printers: Sequence[Cells], columns: int) -> list[str]:
    """Lines for a screen or file that wide."""
    said = [in_short(list(printers))]
    if not printers:
        return said
    table = _table(printers)
    if max(map(len, table)) <= columns:
        return [*said, "", *table]
    return [*said, *(line for each in printers for line in _block(each, columns))]


def _table(printers: Sequence[Cells]) -> list[str]:
    keys = [key for key in HEADINGS if key not in ("because", "firmware")]
    keys = [key for key in keys if key == "tag" or any(each.words[key] != NOTHING for each in printers)]
    rows = [[HEADINGS[key] for key in keys], *([_cell(each, key) for key in keys] for each in printers)]
    widths = [max(len(row[place]) for row in rows) for place in range(len(keys))]
    return [GAP.join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip() for row in rows]


def _cell(printer: Cells, key: str) -> str:
    text = printer.words[key]
    text = text if len(text) <= WIDEST else f"{text[: WIDEST - 1]}…"
    if key == "state":
        return f"{SHAPES[printer.standing]} {text}"
    return f"{text} !" if key in printer.alarms else text


def _block(printer: Cells, columns: int) -> list[str]:
    """What matters first; a mark stands where somebody must act."""
    words = printer.words
    head = f"{SHAPES[printer.standing]} {words['tag']}: {words['state']}, {words['next']} ({words['because']})"
    told = [f"{HEADINGS[key]} {words[key]}{' !' if key in printer.alarms else ''}" for key in LABELLED]
    return ["", *textwrap.wrap(head, columns, subsequent_indent="  "), *_joined(told, columns)]


def _joined(told: Sequence[str], columns: int) -> list[str]:
    text = "; ".join(told) + "."
    return textwrap.wrap(text, max(24, columns), initial_indent="  ", subsequent_indent="  ")


def as_csv(printers: Sequence[Cells]) -> str:
    """Comma-separated values (RFC 4180), one line a printer, headings first.

    A text that a spreadsheet would take for a formula gets an apostrophe before it: a printer may call itself anything.
    """
    lines = io.StringIO()
    writer = csv.writer(lines)
    writer.writerow(HEADINGS.values())
    writer.writerows([[_harmless(each.words[key]) for key in HEADINGS] for each in printers])
    return lines.getvalue()


def _harmless(text: str) -> str:
    return f"'{text}" if text != NOTHING and text.startswith(("=", "+", "-", "@")) else text
