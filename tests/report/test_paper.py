"""The report on paper: how many pages, and what stands on the first two."""

import lzma
import re
import subprocess
from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from commission.evidence.findings.function import FunctionTest
from commission.evidence.findings.pull import PullProof
from commission.evidence.soaked import SoakStretch
from commission.records.book import Book
from commission.records.history import runs
from commission.records.purposes import FULL_CHECK, FUNCTION_TEST, INSTALL
from commission.report.as_html import html
from commission.report.build import build
from commission.report.document import Table
from commission.report.in_short import NAMES, in_short
from commission.report.record import RunFacts, read_run
from commission.report.write import draw
from commission.vocabulary import Verdict
from tests.report.golden_files import drawn
from tests.report.scripted_run import RUNS
from tests.support.browser import the_browser
from tests.support.fake_time import FakeClock
from tests.support.patience import PATIENCE_S
from tests.support.programs import needs_program

RECORDED = Path(__file__).with_name("recorded") / "longest.sqlite3.xz"
"""A soak, an installation with every phase, a function test, a full check and a restore of a whole report.

Recorded by `record_longest.py` on simulated printers.
"""
RESTORE = "restore"
LONGEST_OF = (INSTALL, FULL_CHECK, FUNCTION_TEST, RESTORE)
"""The four kinds of run whose report is long; all of them are passes."""
MOST_PAGES = 6
PAPERS = ("A4", "letter")

_CURE = (
    "Filament is read the wrong way round and the unplugged input rests at out, which is right: change the contact "
    "(the other one of normally open and normally closed). Do not invert the logic: that would read right and pass a "
    "broken wire for filament in. Which word of the reply means filament in is an assumption: a firmware with reversed "
    "words looks the same until a pause is tried, so let the function test confirm it."
)
_WIRE = "Move the wire to the other side of the switch. Hands go to the connector only with mains and USB both out."
_DECLARED = "Go through the declaration, or have the cause looked for by the diagnosis."
FAILED_ITEMS = (
    ("A, unsafe to go on", "The switch does not protect the printer: inverted.", _CURE),
    ("A, unsafe to go on", "Diagnosis: not as declared: the other contact of the switch is used.", _WIRE),
    (
        "B, incomplete",
        "What was measured is not what the declared wiring predicts: it is not wired, or not set, as declared.",
        _DECLARED,
    ),
)
FAILED_POINTS = (
    ("Why", "Polarity: The finding is: inverted, 2703 to 1 against the next explanation."),
    (
        "Do now",
        f"Do not rely on the sensor as it is. {_CURE} {_WIRE} {_DECLARED} Then run it again: commission install",
    ),
    ("Missing for a pass", "polarity (fail); reads in with filament in (not judged); wiggle (not judged)."),
    ("Next check", "At once, when the cause is mended: a full check."),
)


@pytest.fixture(name="longest", scope="module")
def _longest(tmp_path_factory: pytest.TempPathFactory) -> RunFacts:
    """The installation: a pass of a sound unit with nothing left out."""
    return longest_run(tmp_path_factory.mktemp("recorded"))


def longest_run(folder: Path, purpose: str = INSTALL) -> RunFacts:
    """The facts of the longest run of that kind, from its packed book; they are read once and not changed."""
    if purpose not in _READ:
        place = folder / "book.sqlite3"
        place.write_bytes(lzma.decompress(RECORDED.read_bytes()))
        with Book(place, FakeClock()) as book:
            (number,) = (run.number for run in runs(book) if run.purpose == purpose)
            _READ[purpose] = read_run(book, number)
    return _READ[purpose]


_READ: dict[str, RunFacts] = {}


@cache
def _page_of(purpose: str) -> str:
    """The page of the longest run of that kind, which was read before."""
    return draw(_READ[purpose], "html")


def pages(page: str, paper: str, folder: Path) -> list[str]:
    """The text of each printed page, lines as they stand."""
    pdftotext, pdfinfo = needs_program("pdftotext"), needs_program("pdfinfo")
    source, target = folder / "report.html", folder / "report.pdf"
    target.write_bytes(_on_paper(page.replace("</head>", f"<style>@page {{ size: {paper} }}</style></head>"), source))
    text = said_by(pdftotext, "-layout", str(target), "-").split("\f")[:-1]
    counted = re.search(r"^Pages: +(\d+)$", said_by(pdfinfo, str(target)), re.MULTILINE)
    assert counted
    assert int(counted[1]) == len(text)
    return text


_PRINTED: dict[str, bytes] = {}
"""What was printed once: the same page comes out the same, and takes a browser a second."""


def _on_paper(page: str, source: Path) -> bytes:
    if page not in _PRINTED:
        source.write_text(page, encoding="utf-8")
        _PRINTED[page] = the_browser().printed(source)
    return _PRINTED[page]


def said_by(*words: str) -> str:
    """What a program prints."""
    return subprocess.run(words, capture_output=True, text=True, timeout=PATIENCE_S, check=True).stdout


def headings(page: str) -> list[str]:
    """The lines of a page that are a section's heading."""
    sections = (
        "What is fitted",
        "Worklist",
        "Signatures",
        "Trials and readings",
        "Timeline",
        "Wiring as declared",
        "Contents",
    )
    return [line.strip() for line in page.splitlines() if line.strip() in sections]


def test_the_recorded_run_is_the_longest(longest: RunFacts) -> None:
    """All trials of a pass, a warm function test and a proof of the pull stand in it; a soak lies before."""
    test, pull = longest.finding(FunctionTest), longest.finding(PullProof)

    assert test is not None
    assert pull is not None
    assert (Verdict.PASS, Verdict.PASS, "warm") == (longest.verdict, test.verdict, test.mode)
    assert pull.conclusion is not None
    assert 360 <= longest.bounds[0].seconds
    assert [] == longest.of(SoakStretch)


@pytest.mark.parametrize("paper", PAPERS)
def test_the_longest_run_prints_on_six_pages(longest: RunFacts, paper: str, tmp_path: Path) -> None:
    """Page 1 ends with the signatures, page 2 holds trials, timeline, bounds and wiring, and the contents follow."""
    printed = pages(_page_of(INSTALL), paper, tmp_path)

    assert len(printed) <= MOST_PAGES
    assert ["What is fitted", "Worklist", "Signatures"] == headings(printed[0])
    assert ["Trials and readings", "Timeline", "Wiring as declared"] == headings(printed[1])[:3]
    assert "How rarely the reading changes by itself" in printed[1]
    assert "Contents" in headings("".join(printed[1:3]))


@pytest.mark.parametrize("paper", PAPERS)
def test_page_1_is_complete_in_itself(longest: RunFacts, paper: str, tmp_path: Path) -> None:
    """The five points, the number, who signs, how many entries the book had, and the digest of the last of them."""
    page = " ".join(pages(_page_of(INSTALL), paper, tmp_path)[0].split())

    for name, said in in_short(longest).rows[1:]:
        assert f"{name} {said}" in page
    for text in (longest.number, longest.tag, "Pass", longest.started.operator, longest.head.digest):
        assert text in page
    assert f"entries 1 to {longest.head.sequence} of the record book" in page
    assert 2 == page.count("signature and date")


@pytest.mark.parametrize("paper", PAPERS)
def test_a_worklist_of_three_long_items_leaves_room_to_sign(longest: RunFacts, paper: str, tmp_path: Path) -> None:
    """A unit wired to the wrong contact has two unsafe items and one more, and all of page 1 on page 1."""
    document = build(longest)
    worklist = Table("", ("Class", "Open item", "What to do"), FAILED_ITEMS)
    sections = tuple(
        replace(each, blocks=(worklist,)) if each.anchor == "worklist" else each for each in document.sections
    )
    failed = replace(document, verdict="fail", points=FAILED_POINTS, sections=sections)

    first = pages(html(failed), paper, tmp_path)[0]

    assert ["What is fitted", "Worklist", "Signatures"] == headings(first)
    assert 2 == first.count("signature and date")


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("purpose", LONGEST_OF)
def test_the_longest_of_each_kind_prints_on_six_pages(purpose: str, paper: str, tmp_path: Path) -> None:
    """Its page 1 has the five points, what is fitted, the worklist and the signatures, and nothing of them goes on."""
    run = longest_run(tmp_path, purpose)
    printed = pages(_page_of(purpose), paper, tmp_path)
    first = " ".join(printed[0].split())

    assert Verdict.PASS is run.verdict
    assert len(printed) <= MOST_PAGES
    assert ["What is fitted", "Worklist", "Signatures"] == headings(printed[0])
    for name, said in in_short(run).rows[1:]:
        assert f"{name} {said}" in first
    for text in (run.number, run.tag, run.started.operator, run.head.digest):
        assert text in first
    assert 2 == first.count("signature and date")


def test_each_longest_run_leaves_nothing_out(tmp_path: Path) -> None:
    """The function tests are warm, in the check too; all was put back but the leftover distance, which is measured."""
    function, check = (longest_run(tmp_path, each).finding(FunctionTest) for each in (FUNCTION_TEST, FULL_CHECK))
    restored = longest_run(tmp_path, RESTORE)

    assert function is not None
    assert check is not None
    assert ("warm", ()) == (function.mode, function.left_out)
    assert "warm" == check.mode
    assert [True] == [item.text.startswith("The leftover distance was") for item in restored.worklist]


@pytest.mark.parametrize("name", RUNS)
def test_page_1_of_any_run_ends_with_the_signatures(name: str, tmp_path: Path) -> None:
    """A run that failed, was lost or was killed has all of page 1 on page 1; hostile text may need more room."""
    printed = pages(drawn(name, "html", tmp_path / "run"), "letter", tmp_path)
    first = "".join(printed[: 3 if name == "hostile" else 1])

    assert ["What is fitted", "Worklist", "Signatures"] == headings(first)[:3]
    assert list(NAMES[1:]) == re.findall(rf"^ *({'|'.join(NAMES[1:])})\b", first, re.MULTILINE)[:4]
    assert len(printed) <= MOST_PAGES


@pytest.mark.parametrize("full", [False, True])
def test_no_heading_stands_twice(longest: RunFacts, full: bool) -> None:
    """What happened several times says which time it was; what lies between two phases is named by them."""
    said = re.findall(r"^#+ (.*)$", draw(longest, "markdown", full=full), re.MULTILINE)
    appendix = [place for place, heading in enumerate(said) if heading.startswith("Appendix: values")]
    parts = [said[: appendix[0]], said[appendix[0] :]] if full else [said]

    assert [] == [heading for part in parts for heading, count in Counter(part).items() if count > 1]


def test_the_full_report_holds_what_the_short_one_leaves_out(longest: RunFacts) -> None:
    """Every trial, every answer, the values and the bytes; the short one names none of them."""
    short, full = draw(longest, "markdown"), draw(longest, "markdown", full=True)

    for heading in (
        "trials and readings in full",
        "what was done in full",
        "raw exchanges",
        "values behind the findings",
    ):
        assert f"Appendix: {heading}" in full
        assert f"Appendix: {heading}" not in short
    assert len(short) < len(full) / 5
