"""The wall page in a real browser: sorted by keys alone, whole at every width, and in order without its script."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from commission.fleet.cells import HEADINGS, cells_of
from commission.fleet.overview import Printer
from commission.fleet.page import as_page
from commission.records.due import Due, Standing
from tests.support.browser import Browser, running_browser

TODAY = date(2031, 4, 20)
AT = datetime(2031, 4, 20, 9, 0, tzinfo=UTC)
URGENT = ["bench-10", "bench-2", "bench-1"]
"""As the overview has them: the most urgent first."""


def _due(tag: str, standing: Standing, on: date) -> Due:
    return Due(tag, standing, "full check", on, "a nuisance trip was noted on 2031-03-14", None, None, None)


@pytest.fixture(name="page", scope="module")
def _page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three printers, of which one stands nowhere that anybody said."""
    printers = [
        Printer("bench-10", place="hall 2", due=_due("bench-10", Standing.AT_ONCE, date(2031, 4, 20))),
        Printer("bench-2", due=_due("bench-2", Standing.OVERDUE, date(2031, 4, 1))),
        Printer("bench-1", place="attic", due=_due("bench-1", Standing.IN_DATE, date(2031, 9, 1))),
    ]
    file = tmp_path_factory.mktemp("wall") / "wall.html"
    file.write_bytes(as_page([cells_of(each, TODAY) for each in printers], AT))
    return file


@pytest.fixture(name="browser", scope="module")
def _browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    with running_browser(tmp_path_factory.mktemp("browser")) as browser:
        yield browser


def order(browser: Browser) -> Any:
    """The printers from the first card to the last."""
    return browser.value("[...document.querySelectorAll('tbody tr .tag')].map(e => e.textContent)")


def sorted_by(browser: Browser) -> Any:
    """Which head says that it is sorted by, and which way."""
    return browser.value(
        "[...document.querySelectorAll('th')].filter(e => e.ariaSort != 'none')"
        ".map(e => e.textContent + ' ' + e.ariaSort)"
    )


def test_the_page_is_sorted_by_keys_alone(browser: Browser, page: Path) -> None:
    """Tab leads to the heads, Enter and the space bar sort; numbers in names count as numbers."""
    browser.show(page)
    assert (["state ascending"], URGENT) == (sorted_by(browser), order(browser))
    browser.press("Tab")
    assert "printer" == browser.value("document.activeElement.textContent")
    browser.press("Enter")
    assert (["printer ascending"], ["bench-1", "bench-2", "bench-10"]) == (sorted_by(browser), order(browser))
    browser.press(" ")
    assert (["printer descending"], ["bench-10", "bench-2", "bench-1"]) == (sorted_by(browser), order(browser))


def test_what_nobody_said_comes_last_either_way(browser: Browser, page: Path) -> None:
    """The printer without a place is behind the others, upwards and downwards; dates are sorted as dates."""
    browser.show(page, mark="#place,ascending")
    assert ["bench-1", "bench-10", "bench-2"] == order(browser)
    browser.show(page, mark="#place,descending")
    assert ["bench-10", "bench-1", "bench-2"] == order(browser)
    browser.show(page, mark="#next,ascending")
    assert ["bench-2", "bench-10", "bench-1"] == order(browser)


def test_a_page_read_again_keeps_its_order(browser: Browser, page: Path) -> None:
    """What was chosen stands in the address, for the page reads itself anew every minute."""
    browser.show(page)
    browser.press("Tab")
    browser.press("Enter")
    mark = browser.value("location.hash")

    browser.show(page, mark=mark)
    assert ["printer ascending"] == sorted_by(browser)
    browser.show(page, mark="#nonsense,<b>")
    assert (["state ascending"], URGENT) == (sorted_by(browser), order(browser))


def test_without_its_script_the_most_urgent_comes_first(browser: Browser, page: Path) -> None:
    """There are no buttons then that do nothing."""
    browser.show(page, script=False)

    assert URGENT == order(browser)
    assert 0 == browser.value("document.querySelector('thead').getClientRects().length")


@pytest.mark.parametrize("width", [400, 1280, 3840])
def test_nothing_runs_out_of_the_page(browser: Browser, page: Path, width: int) -> None:
    """At any width the whole of it is within the window; tag and state are large; every head can be reached."""
    browser.show(page, width=width)
    large = browser.value(
        "['.tag', '.state'].map(e => parseFloat(getComputedStyle(document.querySelector(e)).fontSize))"
    )

    lines = browser.value("[...document.querySelectorAll('.whole')].map(e => e.getClientRects().length)")

    assert {1} == set(lines), "a day, and a count of printers, stands on one line"
    assert width >= browser.value("document.documentElement.scrollWidth")
    assert len(HEADINGS) == browser.value(
        f"[...document.querySelectorAll('th button')].filter(e => e.getBoundingClientRect().right <= {width}).length"
    )
    assert min(large) >= 24
