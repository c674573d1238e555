"""Books that earlier states of the program wrote still open, verify, list and give their reports."""

import lzma
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from commission.records.book import Book
from commission.records.continuation import broken_off
from commission.records.history import runs
from commission.records.open_items import open_items
from commission.report.write import write_reports
from commission.vocabulary import Outcome, Verdict
from tests.support.fake_time import FakeClock

BOOKS = Path(__file__).with_name("old_books")


@pytest.fixture(name="book")
def _book(tmp_path: Path) -> Iterator[Book]:
    """The book of November 2026, unpacked."""
    place = tmp_path / "book.sqlite3"
    place.write_bytes(lzma.decompress((BOOKS / "2026-11.sqlite3.xz").read_bytes()))
    with Book(place, FakeClock()) as book:
        yield book


def test_every_old_book_is_described() -> None:
    """Each packed book has its paragraph in the folder's README."""
    described = (BOOKS / "README.md").read_text()

    assert [] == [path.name for path in BOOKS.glob("*.xz") if f"`{path.name}`" not in described]


def test_an_old_book_is_as_it_was_written(book: Book) -> None:
    """The chain is whole from the first entry to the last, and nothing was left out on the way."""
    assert [] == book.verify()
    assert 743 == sum(1 for _ in book.entries())


def test_the_runs_of_an_old_book_are_listed(book: Book) -> None:
    """Each run has the outcome and the verdict it came to."""
    told = {run.number: (run.purpose, run.outcome, run.verdict) for run in runs(book)}

    assert 5 == len(told)
    assert ("install", Outcome.COMPLETE, Verdict.CONDITIONAL) == told["bench-3/2026-11-26/1"]
    assert ("brief check", Outcome.COMPLETE, Verdict.PASS) == told["bench-3/2026-11-26/2"]
    assert ("install", Outcome.COMPLETE, Verdict.FAIL) == told["bench-7/2026-11-26/1"]
    assert ("full check", Outcome.BROKEN_OFF, Verdict.NOT_JUDGED) == told["bench-3/2026-11-26/3"]
    assert ("condition check", Outcome.COMPLETE, Verdict.PASS) == told["bench-3/2026-11-26/4"]  # its first end


def test_a_broken_off_run_of_an_old_book_goes_on(book: Book) -> None:
    """What the killed check had done is known, so that it can be taken up again."""
    broken = broken_off(book, "bench-3", "full check")

    assert broken is not None
    assert ("bench-3/2026-11-26/3", ["proof_test"]) == (broken.number, list(broken.done))


def test_the_open_items_of_an_old_book_are_known(book: Book) -> None:
    """The fail-danger unit has its item of class A."""
    (item,) = open_items(book, "bench-7")

    assert item.startswith("2026-11-26, class A: ")


def test_an_old_book_gives_its_reports(book: Book, tmp_path: Path) -> None:
    """Every run is drawn in every format, and nothing of it is left out as not understood."""
    drawn = [path for run in runs(book) for path in write_reports(book, run.number, tmp_path / "reports")]

    assert {".html": 5, ".md": 5, ".json": 5} == Counter(path.suffix for path in drawn)
    for path in drawn:
        if path.suffix == ".json":
            assert '"unread": []' in path.read_text()
