"""The document as one HTML file that needs nothing from outside; the template escapes everything by itself."""

from functools import cache
from importlib.resources import files

from jinja2 import Environment, FunctionLoader, StrictUndefined, Template
from markupsafe import Markup

from commission.report.document import Document
from commission.report.pictures import checked_svg

LONGEST_WORD = 26
"""Letters of a word that a column is kept wide enough for; a longer one may be broken anywhere."""


def html(document: Document) -> str:
    """The whole report."""
    return _template().render(document=document)


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
    environment.filters["css"] = lambda text: Markup(css_string(text))  # noqa: S704 - nothing but letters and escapes
    environment.globals["style"] = Markup(_source("report.css"))  # noqa: S704 - our own file
    return environment.get_template("report.html.j2")


def _source(name: str) -> str:
    return files("commission.report").joinpath("templates", name).read_text(encoding="utf-8")


def _drawing(svg: str) -> Markup | None:
    """A picture that passed the check; None when there is none or it did not."""
    checked = checked_svg(svg)
    return None if checked is None else Markup(checked)  # noqa: S704 - every element and attribute was checked


def css_string(text: str) -> str:
    """Text as a string of a style sheet; everything but letters and digits is escaped (CSS Syntax, 4.3.7)."""
    return '"' + "".join(each if each.isascii() and each.isalnum() else f"\\{ord(each):06x}" for each in text) + '"'
