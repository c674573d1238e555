"""The document as one HTML file that needs nothing from outside; the template escapes everything by itself."""

from functools import cache
from importlib.resources import files

from jinja2 import Environment, FunctionLoader, StrictUndefined, Template
from markupsafe import Markup

from commission.report.document import Document
from commission.report.pictures import checked_svg


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
    environment.globals["style"] = Markup(_source("report.css"))  # noqa: S704 - our own file
    return environment.get_template("report.html.j2")


def _source(name: str) -> str:
    return files("commission.report").joinpath("templates", name).read_text(encoding="utf-8")


def _drawing(svg: str) -> Markup | None:
    """A picture that passed the check; None when there is none or it did not."""
    checked = checked_svg(svg)
    return None if checked is None else Markup(checked)  # noqa: S704 - every element and attribute was checked
