"""Text from a printer, a port or a person is data in every format."""

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from markdown_it.token import Token

from commission.dialect.sanitise import clean_text
from commission.report.as_html import css_string
from commission.report.as_markdown import escaped
from commission.report.pictures import checked_svg, description_of
from tests.report.golden_files import drawn
from tests.report.page import Page
from tests.report.scripted_run import HOSTILE

OURS = {
    *("html", "head", "meta", "link", "title", "style", "body", "header", "main", "section", "footer", "p", "h1", "h2"),
    *("nav", "a"),
    *(
        "h3",
        "span",
        "strong",
        "div",
        "dl",
        "dt",
        "dd",
        "ul",
        "ol",
        "li",
        "table",
        "caption",
        "thead",
        "tbody",
        "tr",
        "th",
    ),
    *("td", "figure", "figcaption", "details", "summary", "code", "pre"),
    *("svg", "desc", "g", "rect", "line", "polyline", "circle", "text"),
}


def test_html_holds_no_element_but_our_own(tmp_path: Path) -> None:
    """No hostile text becomes an element, an event handler or a link; it is read as text."""
    page = Page(drawn("hostile", "html", tmp_path, full=True))

    assert set() == page.tags - OURS
    assert [] == [name for _, attributes in page.elements for name in attributes if name.startswith("on")]
    assert {("link", "data:,")} == {(tag, a["href"]) for tag, a in page.elements if "href" in a and tag != "a"}
    assert [] == [a for a in page.named("a") if set(a) != {"href"} or not re.fullmatch("#[a-z-]+", str(a["href"]))]
    assert [] == [text for text in HOSTILE if clean_text(text) not in page.text]


@pytest.mark.parametrize("form", ["html", "markdown", "json"])
def test_nothing_that_does_not_print_is_let_through(form: str, tmp_path: Path) -> None:
    """Control characters and direction overrides are shown by their code, in every format."""
    said = drawn("hostile", form, tmp_path, full=True)

    assert [] == sorted({letter for letter in said if not letter.isprintable() and letter != "\n"})


def test_json_gives_the_text_back(tmp_path: Path) -> None:
    """A program that reads the JSON gets the text as it was, made printable and not escaped for any other format."""
    report = json.loads(drawn("hostile", "json", tmp_path))

    assert [clean_text(text) for text in HOSTILE] == report["findings"][0]["finding"]["sentences"]


def tokens(markdown: str) -> Iterator[Token]:
    """Everything that a reader of Markdown with tables makes of a text, nested or not."""
    for token in MarkdownIt("commonmark").enable(["table", "strikethrough"]).parse(markdown):
        yield token
        yield from token.children or ()


def test_markdown_holds_no_link_picture_or_html(tmp_path: Path) -> None:
    """Read by a reader of Markdown that is not ours (markdown-it), hostile text stays text."""
    kinds = {token.type for token in tokens(drawn("hostile", "markdown", tmp_path, full=True))}

    assert set() == kinds & {"link_open", "image", "html_block", "html_inline", "s_open"}


@given(st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]) | st.just(" "), min_size=1, max_size=40))
@settings(max_examples=100, deadline=None)
def test_any_text_is_literal_in_markdown(text: str) -> None:
    """Whatever a text is, markdown-it shows it as it stands, in a paragraph of its own and in a cell."""
    plain = " ".join(text.split())
    lines = f"{escaped(plain)}\n\n| |\n| --- |\n| {escaped(plain)} |\n"

    shown = ["".join(t.content for t in token.children or ()) for token in tokens(lines) if token.type == "inline"]

    assert ([plain] if plain else []) + ["", plain] == shown


@given(st.text(max_size=40))
@settings(max_examples=100, deadline=None)
def test_any_text_is_one_string_of_a_style_sheet(text: str) -> None:
    """A run's number in the page footer is a quoted string of letters, digits and six-digit escapes."""
    quoted = css_string(text)

    assert '"' == quoted[0] == quoted[-1]
    assert set(quoted[1:-1]) <= set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789\\")


SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">{}</svg>'


@pytest.mark.parametrize(
    "inside",
    [
        "<script>alert(1)</script>",
        '<rect onclick="alert(1)"/>',
        '<a href="http://example.org"><text>x</text></a>',
        '<image href="http://example.org/x.png"/>',
        '<rect style="fill:red"/>',
        '<rect fill="url(http://example.org/x)"/>',
        "<foreignObject><p>x</p></foreignObject>",
        '<rect xmlns="http://www.w3.org/1999/xhtml"/>',
        "<text>not closed",
    ],
)
def test_a_picture_that_is_more_than_a_drawing_is_kept_out(inside: str) -> None:
    """A picture with a script, a handler, a link or anything from outside is not put into a page."""
    assert None is checked_svg(SVG.format(inside))


@pytest.mark.parametrize("whole", ["", "no picture", "<!DOCTYPE svg><svg/>", "<svg><rect/></svg>"])
def test_what_is_no_svg_is_kept_out(whole: str) -> None:
    """A document type (and with it entities) or an element outside the namespace is refused."""
    assert None is checked_svg(whole)


def test_a_drawing_is_let_through_as_it_is() -> None:
    """Shapes, text, titles and patterns inside the document pass, and the description is read."""
    drawing = SVG.format('<title>A</title><desc>B &amp; C</desc><rect fill="url(#p)" stroke-width="2"/><text>x</text>')

    assert drawing == checked_svg(drawing)
    assert "B & C" == description_of(drawing)
