"""The document as one HTML file that needs nothing from outside; the template escapes everything by itself."""

import re
from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from itertools import count

from jinja2 import Environment, FunctionLoader, StrictUndefined, Template
from markupsafe import Markup, escape

from commission.files.kinds import PAGE_GENERATOR
from commission.report.document import Document, Table
from commission.report.pictures import checked_svg

NARROW_COLUMNS, NARROW_CELL = 3, 60
"""So many columns, of so many letters a cell, stand side by side on a screen of 400 pixels."""
LONGEST_WORD = 26
"""Letters of a word that a column is kept wide enough for; a longer one may be broken anywhere."""

_ANCHOR = re.compile(r"(?<=[\" ])(?:title|desc)-[0-9a-f]{8}(?=[\" ])")
"""The names of a picture's title and description, where they are given and where they are referred to."""

_DATE = re.compile(r"\d{4}-\d\d-\d\d")


def html(document: Document) -> str:
    """The whole report."""
    return _template().render(document=document, nth=count(1))


@cache
def _template() -> Template:
    environment = Environment(
        loader=FunctionLoader(_source),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["kind"] = lambda block: type(block).__name__
    environment.filters["drawing"] = _drawing
    environment.filters["long"] = lambda text: any(len(word) > LONGEST_WORD for word in text.split())
    environment.filters["few"] = _few
    environment.filters["dated"] = _dated
    environment.filters["css"] = lambda text: Markup(css_string(text))  # noqa: S704 - nothing but letters and escapes
    environment.globals["generator"] = PAGE_GENERATOR
    environment.globals["style"] = Markup(_source("report.css"))  # noqa: S704 - our own file
    return environment.get_template("report.html.j2")


def _source(name: str) -> str:
    return files("commission.report").joinpath("templates", name).read_text(encoding="utf-8")


def _few(table: Table) -> bool:
    """Whether a narrow screen can hold the columns side by side; otherwise it shows the rows one below the other."""
    longest = max((len(cell) for row in table.rows for cell in row), default=0)
    return len(table.head) < NARROW_COLUMNS or (len(table.head) == NARROW_COLUMNS and longest <= NARROW_CELL)


def _drawing(svg: str, nth: Iterator[int]) -> Markup | None:
    """A picture that passed the check, its anchors its own on the page; None when there is none or it did not."""
    checked = checked_svg(svg)
    if checked is None:
        return None
    own = _ANCHOR.sub(rf"\g<0>-{next(nth)}", checked)
    return Markup(own)  # noqa: S704 - every element and attribute was checked


def _dated(text: str) -> Markup:
    """The text with its dates marked as such, so that no line is broken inside one."""
    marked = _DATE.sub(r'<time datetime="\g<0>">\g<0></time>', str(escape(text)))
    return Markup(marked)  # noqa: S704 - escaped before


def css_string(text: str) -> str:
    """Text as a string of a style sheet; everything but letters and digits is escaped (CSS Syntax, 4.3.7)."""
    return '"' + "".join(each if each.isascii() and each.isalnum() else f"\\{ord(each):06x}" for each in text) + '"'
