"""The overview as one page for a wall screen: nothing beside it is loaded, and nothing is said by colour alone.

It is one table, laid out as a card a printer, so that the state is read from three metres at any width. A small script
of its own sorts it; without one the order by urgency stays.
"""

import re
from collections.abc import Sequence
from datetime import datetime
from html import escape
from pathlib import Path

from commission.files.kinds import OVERVIEW_GENERATOR
from commission.fleet.cells import HEADINGS, NOTHING, SHAPES, Cells, in_short

REFRESH_S = 60
"""A screen on the wall reads the file again so often: it is written anew by a timer, whole or not at all."""
_DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b", re.ASCII)
LARGE = ("tag", "state", "next", "because")

SCRIPT = Path(__file__).with_name("page_sorting.js")
"""Sorts on the page. What was chosen stands behind the # of the address, so that a page read again keeps it."""

STYLE = """\
:root { color-scheme: light; font-size: clamp(15px, 0.42vw + 12px, 30px); }
* { box-sizing: border-box; }
body { margin: 0; padding: .8rem; background: #fff; color: #111; }
body { font-family: system-ui, sans-serif; line-height: 1.25; }
header { display: flex; flex-wrap: wrap; gap: .2rem 2rem; align-items: baseline; margin-bottom: .8rem; }
h1 { font-size: 1.5rem; margin: 0; }
header p { margin: 0; font-size: 1.5rem; font-weight: 600; white-space: pre-wrap; }
header .at { font-weight: 400; font-size: 1.1rem; }
table, thead, tbody, th, td { display: block; text-align: left; font-weight: 400; }
thead[hidden] { display: none; }
thead tr { display: flex; flex-wrap: wrap; gap: .35rem; align-items: center; margin-bottom: .8rem; }
button { font: inherit; color: #111; background: #f2f2f2; border: .1rem solid #444; padding: .15rem .6rem; }
button:focus-visible { outline: .25rem solid #0b57d0; outline-offset: .1rem; }
[aria-sort=ascending] button, [aria-sort=descending] button { background: #111; color: #fff; font-weight: 700; }
[aria-sort=ascending] button::after { content: " \\2191"; }
[aria-sort=descending] button::after { content: " \\2193"; }
tbody { display: grid; gap: .8rem; grid-template-columns: repeat(auto-fill, minmax(min(100%, 22rem), 1fr)); }
tbody tr { border: .15rem solid #444; border-left-width: .9rem; padding: .5rem .7rem; overflow-wrap: anywhere; }
tbody tr { display: flex; flex-direction: column; }
tr.at-once { border-color: #a00; border-left-style: double; background: #fff1f0; }
tr.overdue { border-color: #a34a00; border-left-style: solid; background: #fff6ec; }
tr.soon { border-color: #665200; border-left-style: dashed; }
tr.in-date { border-color: #14591f; border-left-style: dotted; }
.whole { white-space: nowrap; }
.tag { font-size: 2.1rem; font-weight: 700; line-height: 1.1; }
.state { font-size: 1.6rem; font-weight: 700; margin: .1rem 0; text-transform: uppercase; }
.next, .because { font-size: 1.25rem; }
.because { margin-bottom: .5rem; }
.small { display: grid; grid-template-columns: 8.8rem 1fr; gap: 0 .7rem; order: 1; }
.small .name { color: #444; }
.small .value { font-weight: 600; }
.small.nothing { display: none; }
.alarm .value { font-weight: 800; text-decoration: underline; text-decoration-thickness: .15em; }
@media print { tbody tr { break-inside: avoid; } thead { display: none; } }
"""


def as_page(printers: Sequence[Cells], at: datetime) -> bytes:
    """The page, drawn at that moment."""
    drawn = f"{at:%Y-%m-%d %H:%M}"
    lines = [
        "<!doctype html>",
        '<html lang="en">',
        '<meta charset="utf-8">',
        f'<meta name="generator" content="{OVERVIEW_GENERATOR}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f'<meta http-equiv="refresh" content="{REFRESH_S}">',
        "<title>Filament sensors: overview</title>",
        f"<style>\n{STYLE}</style>",
        "<header>",
        "<h1>Filament sensors</h1>",
        f"<p>{_counts(printers)}</p>",
        f'<p class="at">drawn {drawn}; no newer one? Look after the timer.</p>',
        "</header>",
        *_table(printers),
        "</html>",
    ]
    return ("\n".join(lines) + "\n").encode()


def _table(printers: Sequence[Cells]) -> list[str]:
    """The most urgent first; the heads are buttons that sort, and hidden where no script shows them.

    Laid out as cards it would be no table any more to who has it read aloud, so that every part says what it is.
    """
    heads = [
        f'<th role="columnheader" scope="col" data-key="{key}" aria-sort="{"ascending" if key == "state" else "none"}">'
        f"<button>{escape(heading)}</button></th>"
        for key, heading in HEADINGS.items()
    ]
    return [
        '<table role="table" aria-label="Every printer">',
        '<thead role="rowgroup" hidden><tr role="row">',
        *heads,
        "</tr></thead>",
        '<tbody role="rowgroup">',
        *(line for each in printers for line in _row(each)),
        "</tbody>",
        "</table>",
        f"<script>\n{SCRIPT.read_text(encoding='utf-8')}</script>",
    ]


def _counts(printers: Sequence[Cells]) -> str:
    """How many stand how; no count is broken from its word."""
    return "   ".join(f'<span class="whole">{escape(each)}</span>' for each in in_short(list(printers)).split("   "))


def _days_whole(text: str) -> str:
    """The text with its days marked, so that none of them is broken at a hyphen."""
    return _DAY.sub(r'<span class="whole">\g<0></span>', text)


def _row(printer: Cells) -> list[str]:
    name = printer.standing.name.lower().replace("_", "-")
    return [f'<tr role="row" class="{name}">', *(_cell(printer, key) for key in HEADINGS), "</tr>"]


def _cell(printer: Cells, key: str) -> str:
    words = printer.words[key]
    value = f'<span class="value">{"" if words == NOTHING else _days_whole(escape(words))}</span>'
    mark = f"{SHAPES[printer.standing]} " if key == "state" else "! " if key in printer.alarms else ""
    if key in LARGE:
        return f'<td role="cell" class="{key}">{mark}{value}</td>'
    kind = " nothing" if words == NOTHING else " alarm" if key in printer.alarms else ""
    named = f'<span class="name">{escape(HEADINGS[key])}</span>'
    return f'<td role="cell" class="small{kind}">{named}<span>{mark}{value}</span></td>'
