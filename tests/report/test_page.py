"""The page: needs nothing from outside, reads aloud, and is legible without colour."""

import re
import subprocess
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from commission.report.as_html import LONGEST_WORD, html
from commission.report.build import build
from commission.report.record import read_run
from tests.report.golden_files import drawn
from tests.report.page import Page
from tests.report.scripted_run import RUNS
from tests.support.patience import PATIENCE_S
from tests.support.programs import needs_program

AA = 4.5
"""Least contrast of text: WCAG 2.2, success criterion 1.4.3."""


@pytest.fixture(params=RUNS)
def page(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The page of each scripted run, in full."""
    return drawn(str(request.param), "html", tmp_path, full=True)


def test_nothing_is_fetched(page: str) -> None:
    """No element names a source outside the file, and the page's own policy forbids any."""
    taken = Page(page)

    assert set() == taken.tags & {"script", "img", "iframe", "object", "embed", "audio", "video", "form", "base"}
    assert [] == [a for _, a in taken.elements if "src" in a]
    assert [] == [a for _, a in taken.elements if not (a.get("href") or "data:,").startswith(("data:,", "#"))]
    assert [] == re.findall(r"@import|url\(", page.split("</style>", maxsplit=1)[0])
    assert "default-src 'none'" in str(taken.named("meta"))


def test_the_language_and_one_main_heading_are_given(page: str) -> None:
    """A screen reader knows the language, finds one first heading, and no level is skipped on the way down."""
    taken = Page(page)
    levels = [int(tag[1]) for tag, _ in taken.elements if re.fullmatch("h[1-6]", tag)]

    assert "en" == taken.named("html")[0]["lang"]
    assert 1 == levels.count(1)
    assert [] == [pair for pair in pairwise(levels) if pair[1] > pair[0] + 1]


def test_every_table_has_headers_with_their_scope_and_a_name(page: str) -> None:
    """Each header cell says whether it heads a row or a column, each table is named, no anchor is used twice."""
    taken = Page(page)
    anchors = [str(a["id"]) for _, a in taken.elements if "id" in a]

    assert {"row", "col"} >= {str(a.get("scope")) for a in taken.named("th")}
    assert len(taken.named("table")) == len(taken.named("caption")) + sum(
        "aria-label" in a for a in taken.named("table")
    )
    assert [] == [a for a in taken.named("svg") if a.get("role") != "img"]
    assert sorted(set(anchors)) == sorted(anchors)


def test_every_cell_carries_its_heading_for_a_narrow_screen(page: str) -> None:
    """On a narrow screen rows stand one below the other: each value can then be told by the heading of its column."""
    cells = Page(page).named("td")

    assert cells
    assert [] == [cell for cell in cells if not cell.get("data-head")]


def test_rows_that_are_stacked_are_still_a_table_to_a_screen_reader(page: str) -> None:
    """Shown as blocks, an element loses its meaning; so every part of such a table names its role."""
    elements = Page(page).elements
    tables = [place for place, (tag, _) in enumerate(elements) if tag == "table"]
    stacked = [place for place in tables if elements[place][1].get("class") != "few"]

    assert tables
    for place in stacked:
        inside = elements[place : next((each for each in tables if each > place), len(elements))]
        parts = [attributes for tag, attributes in inside if tag in ("table", "tr", "th", "td")]
        assert [] == [each for each in parts if not each.get("role")]


def test_the_date_of_the_next_check_is_not_broken(tmp_path: Path) -> None:
    """On a screen of 400 pixels the line of the next check is broken between words, never inside a date."""
    run = RUNS["complete"](tmp_path)
    document = replace(build(read_run(run.book, run.number)), points=(("Next check", "Brief by 2031-04-13, <soon>."),))
    run.book.close()
    text = html(document)

    assert '<dd>Brief by <time datetime="2031-04-13">2031-04-13</time>, &lt;soon&gt;.</dd>' in text
    assert re.search(r"^time \{ white-space: nowrap; \}$", text, re.MULTILINE)


def test_nothing_lies_beyond_the_edge_of_a_narrow_screen(tmp_path: Path) -> None:
    """At 400 pixels no element but what is inside a picture, or in a frame that can be pushed, ends beyond the edge."""
    chromium = needs_program("chromium")
    (tmp_path / "report.html").write_text(drawn("complete", "html", tmp_path / "run"), encoding="utf-8")
    (tmp_path / "frame.html").write_text(NARROW, encoding="utf-8")
    command = [chromium, "--headless", "--no-sandbox", "--disable-gpu", "--allow-file-access-from-files"]
    command += ["--window-size=1200,900", "--virtual-time-budget=5000", "--dump-dom", f"file://{tmp_path}/frame.html"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=PATIENCE_S, check=True)

    (told,) = re.findall(r'<pre id="told">(.*?)</pre>', done.stdout, re.DOTALL)
    assert "measured 400:" == told.strip()


NARROW = """<!doctype html><body><iframe id="f" src="report.html" style="width:400px;height:2000px;border:0"></iframe>
<pre id="told">never measured</pre><script>
f.onload = () => {
  const beyond = [...f.contentDocument.querySelectorAll("body *")].filter(
    each => each.getBoundingClientRect().right > 400.5 && !each.closest("figure, thead, pre"));
  told.textContent = `measured ${f.clientWidth}: ` + beyond.map(each => each.outerHTML.slice(0, 80)).join("; ");
};
</script>
"""


@pytest.mark.parametrize("full", [False, True])
def test_keyboard_stops_only_where_something_is_pushed(full: bool, tmp_path: Path) -> None:
    """From 320 to 1280 pixels no table is wider than its frame, so none is a tab stop; what is wider can be reached."""
    chromium = needs_program("chromium")
    (tmp_path / "report.html").write_text(drawn("complete", "html", tmp_path / "run", full=full), encoding="utf-8")
    (tmp_path / "frame.html").write_text(PUSHED, encoding="utf-8")
    command = [chromium, "--headless", "--no-sandbox", "--disable-gpu", "--allow-file-access-from-files"]
    command += ["--window-size=1400,900", "--virtual-time-budget=5000", "--dump-dom", f"file://{tmp_path}/frame.html"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=PATIENCE_S, check=True)

    (told,) = re.findall(r'<pre id="told">(.*?)</pre>', done.stdout, re.DOTALL)
    page = Page((tmp_path / "report.html").read_text(encoding="utf-8"))
    assert "measured 320, 400, 640, 900, 901, 1000, 1280; pushed somewhere: FIGURE; out of reach:" == told.strip()
    assert len(page.named("svg")) + len(page.named("pre")) == sum("tabindex" in a for _, a in page.elements)


PUSHED = """<!doctype html><body><iframe id="f" src="report.html" style="height:2000px;border:0"></iframe>
<pre id="told">never measured</pre><script>
f.onload = () => {
  const widths = [320, 400, 640, 900, 901, 1000, 1280], pushed = new Set(), beyond = [];
  for (const width of widths) {
    f.style.width = width + "px";
    for (const each of f.contentDocument.querySelectorAll(".wide, pre, ol, section")) {
      if (each.scrollWidth <= each.clientWidth + 1) continue;
      if (!["auto", "scroll"].includes(f.contentWindow.getComputedStyle(each).overflowX)) continue;
      pushed.add((each.closest("figure") || each).tagName);
      if (each.tabIndex !== 0) beyond.push(width + ": " + each.outerHTML.slice(0, 80));
    }
  }
  told.textContent =
    `measured ${widths.join(", ")}; pushed somewhere: ${[...pushed].join(" ")}; out of reach: ` + beyond;
};
</script>
"""


def luminance(colour: str) -> float:
    """Relative luminance of `#rrggbb` (WCAG 2.2, definition of relative luminance)."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (WCAG 2.2, definition of contrast ratio)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_is_the_published_one() -> None:
    """Black on white is 21 to 1 (WCAG 2.2, definition of contrast ratio); #767676 on white is just AA (from memory)."""
    assert pytest.approx(21.0) == contrast("#000000", "#ffffff")
    assert AA < contrast("#767676", "#ffffff") < AA + 0.1


def test_every_pair_of_colours_is_legible(tmp_path: Path) -> None:
    """Ink, soft ink and the accent keep AA contrast on paper and on the band; the inverse verdict does too."""
    style = drawn("complete", "html", tmp_path).split("<style>")[1]
    colours = dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6});", style))
    grounds = [colours["paper"], colours["band"], "#ffffff"]

    pairs = [(colours[ink], ground) for ink in ("ink", "soft", "mark") for ground in grounds]
    pairs += [("#ffffff", colours["ink"]), ("#dcdfe2", colours["ink"])]

    assert [] == [pair for pair in pairs if contrast(*pair) < AA]


def test_a_verdict_is_a_word_and_a_shape(tmp_path: Path) -> None:
    """Each verdict is written out, and its mark differs by its frame, not by colour alone."""
    page = drawn("complete", "html", tmp_path)
    style = page.split("</style>")[0]

    assert '<span class="mark fail">fail</span>' in page
    for verdict, look in (("conditional-pass", "dashed"), ("not-judged", "dotted"), ("pass", "transparent")):
        assert re.search(rf"\.mark\.{verdict} {{[^}}]*{look}", style)


@pytest.mark.parametrize(
    ("name", "number"), [("complete", "bench-3/2031-03-14/1"), ("hostile", "bench-3/2031-03-14/2")]
)
def test_a_browser_opens_and_prints_it(name: str, number: str, tmp_path: Path) -> None:
    """Chromium prints numbered pages, each with the report's number, and breaks no row of a table; no complaint."""
    chromium, pdftotext = needs_program("chromium"), needs_program("pdftotext")
    page, paper = drawn(name, "html", tmp_path, full=True), tmp_path / "report.pdf"

    complaints = printed(chromium, page, paper)
    text = subprocess.run(
        [pdftotext, "-layout", str(paper), "-"], capture_output=True, text=True, timeout=PATIENCE_S, check=True
    ).stdout
    pages = text.split("\f")[:-1]

    assert [] == complaints
    assert 2 <= len(pages)
    assert [f"page {n} of {len(pages)}" for n in range(1, len(pages) + 1)] == re.findall(r"page \d+ of \d+", text)
    assert [] == [n for n, each in enumerate(pages, 1) if number not in each]
    assert [] == [row for row in Page(page).rows if not any(holds(each, row) for each in pages)]


def test_a_row_on_two_pages_is_noticed() -> None:
    """The comparison above fails for a row whose words are parted by a page break, and passes for one that is not."""
    assert holds("07:12 inserted, read\n      as active", ["07:12", "inserted, read as active"])
    assert not holds("07:12 inserted, read", ["07:12", "inserted, read as active"])


def holds(page: str, row: list[str]) -> bool:
    """Whether every word of the row is on the page; words that may be broken anywhere are left out."""
    there = set(page.split())
    run_on = "".join(page.split())
    return all(word in there or word in run_on for cell in row for word in cell.split() if len(word) <= LONGEST_WORD)


def printed(chromium: str, page: str, paper: Path) -> list[str]:
    """Print the page with the network cut off; return what the browser's console complained of."""
    file = paper.with_suffix(".html")
    file.write_text(page, encoding="utf-8")
    done = subprocess.run(
        [
            chromium,
            *("--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer", "--enable-logging=stderr"),
            "--host-resolver-rules=MAP * ~NOTFOUND",
            f"--user-data-dir={paper.parent / 'profile'}",
            f"--print-to-pdf={paper}",
            file.as_uri(),
        ],
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
        check=True,
    )
    return [line for line in done.stderr.splitlines() if "CONSOLE" in line]
