"""Nothing on paper is smaller than 8 pt, measured in the file that a browser prints."""

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest

from commission.drawing.svg import SMALLEST
from commission.report.record import RunFacts
from commission.report.write import draw
from tests.report.golden_files import drawn
from tests.report.scripted_run import RUNS
from tests.report.test_paper import longest_run, pages, said_by
from tests.support.programs import needs_program

LEAST_PT = 8.0
WIDEST = 800
"""Units of a picture's width at most: the report prints it on 173 mm or more, 95 % of A4 less its margins."""
ZOOM = 3
"""The reader tells a size in whole units, of which a point has three at most."""


@pytest.fixture(name="longest", scope="module")
def _longest(tmp_path_factory: pytest.TempPathFactory) -> RunFacts:
    return longest_run(tmp_path_factory.mktemp("recorded"))


def small(printed: Path) -> Iterator[tuple[float, str]]:
    """Every text that is smaller than it may be, with its size in points, to the nearest third."""
    words = ("-xml", "-i", "-zoom", str(ZOOM), "-stdout", str(printed))
    told = said_by(needs_program("pdftohtml"), *words)
    sizes = {name: int(size) / ZOOM for name, size in re.findall(r'<fontspec id="(\d+)" size="(-?\d+)"', told)}
    for font, text in re.findall(r'<text [^>]*font="(\d+)">(.*?)</text>', told):
        if sizes[font] < LEAST_PT:
            yield sizes[font], unescape(re.sub("<.*?>", "", text))


@pytest.mark.parametrize("full", [False, True])
def test_longest_run_has_no_small_print(longest: RunFacts, full: bool, tmp_path: Path) -> None:
    """Trials, pictures, digests and exchanges, on A4, which is the narrower paper."""
    pages(draw(longest, "html", full=full), "A4", tmp_path)

    assert [] == list(small(tmp_path / "report.pdf"))


@pytest.mark.parametrize("name", RUNS)
def test_no_run_has_small_print(name: str, tmp_path: Path) -> None:
    """Also one that failed, was lost or was killed."""
    pages(drawn(name, "html", tmp_path / "run"), "A4", tmp_path)

    assert [] == list(small(tmp_path / "report.pdf"))


def test_smallest_text_of_a_picture_is_that_of_the_paper() -> None:
    """A4 is 210 mm wide (ISO 216), less 14 mm at each edge, 95 % of it; an inch has 72 points (common use)."""
    width_pt = 0.95 * (210 - 2 * 14) / 25.4 * 72

    assert LEAST_PT <= SMALLEST * width_pt / WIDEST < LEAST_PT + 0.05


def test_a_small_text_would_be_noticed(longest: RunFacts, tmp_path: Path) -> None:
    """The measure is not blind: the same page with smaller lines is full of small print."""
    page = draw(longest, "html").replace("font-size: 8pt", "font-size: 7.8pt")
    pages(page, "A4", tmp_path)

    assert 50 < len(list(small(tmp_path / "report.pdf")))
