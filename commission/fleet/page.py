"""The overview as one page for a wall screen: nothing beside it is loaded, and nothing is said by colour alone."""

from collections.abc import Sequence
from datetime import datetime
from html import escape

from commission.files.kinds import OVERVIEW_GENERATOR
from commission.fleet.cells import HEADINGS, NOTHING, SHAPES, Cells, in_short

REFRESH_S = 60
"""A screen on the wall reads the file again so often: it is written anew by a timer, whole or not at all."""
LARGE = ("tag", "state", "next", "because")
SMALL = tuple(key for key in HEADINGS if key not in LARGE)

STYLE = """\
:root { color-scheme: light; font-size: clamp(15px, 0.42vw + 12px, 30px); }
* { box-sizing: border-box; }
body { margin: 0; padding: .8rem; background: #fff; color: #111; }
body { font-family: system-ui, sans-serif; line-height: 1.25; }
header { display: flex; flex-wrap: wrap; gap: .2rem 2rem; align-items: baseline; margin-bottom: .8rem; }
h1 { font-size: 1.5rem; margin: 0; }
header p { margin: 0; font-size: 1.5rem; font-weight: 600; }
header .at { font-weight: 400; font-size: 1.1rem; }
main { display: grid; gap: .8rem; grid-template-columns: repeat(auto-fill, minmax(min(100%, 21rem), 1fr)); }
article { border: .15rem solid #444; border-left-width: .9rem; padding: .5rem .7rem; overflow-wrap: anywhere; }
article.at-once { border-color: #a00; border-left-style: double; background: #fff1f0; }
article.overdue { border-color: #a34a00; border-left-style: solid; background: #fff6ec; }
article.soon { border-color: #665200; border-left-style: dashed; }
article.in-date { border-color: #14591f; border-left-style: dotted; }
h2 { font-size: 2.1rem; margin: 0; line-height: 1.1; }
.state { font-size: 1.6rem; font-weight: 700; margin: .1rem 0; text-transform: uppercase; }
.next { font-size: 1.25rem; margin: 0; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .05rem .7rem; margin: .5rem 0 0; }
dt { color: #444; }
dd { margin: 0; font-weight: 600; }
dd.alarm { font-weight: 800; text-decoration: underline; text-decoration-thickness: .15em; }
@media print { article { break-inside: avoid; } }
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
        f"<p>{escape(in_short(list(printers)))}</p>",
        f'<p class="at">drawn {drawn}; no newer one? Look after the timer.</p>',
        "</header>",
        "<main>",
        *(line for each in printers for line in _article(each)),
        "</main>",
        "</html>",
    ]
    return ("\n".join(lines) + "\n").encode()


def _article(printer: Cells) -> list[str]:
    words = {key: escape(text) for key, text in printer.words.items()}
    told = [
        f"<dt>{escape(HEADINGS[key])}</dt><dd{_alarm(printer, key)}>{_marked(printer, key, words[key])}</dd>"
        for key in SMALL
        if words[key] != NOTHING
    ]
    name = printer.standing.name.lower().replace("_", "-")
    return [
        f'<article class="{name}">',
        f"<h2>{words['tag']}</h2>",
        f'<p class="state">{SHAPES[printer.standing]} {words["state"]}</p>',
        f'<p class="next">{words["next"]} ({words["because"]})</p>',
        "<dl>",
        *told,
        "</dl>",
        "</article>",
    ]


def _alarm(printer: Cells, key: str) -> str:
    return ' class="alarm"' if key in printer.alarms else ""


def _marked(printer: Cells, key: str, text: str) -> str:
    return f"! {text}" if key in printer.alarms else text
