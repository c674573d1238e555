"""What is written together: on the disk in one go, and where the database refuses a part of it nothing of it is."""

import sqlite3
from pathlib import Path

import pytest

from commission.evidence.talk import Told
from commission.records.book import Book
from commission.records.chain import check_chain, link_row
from commission.records.joining import ForkError
from commission.records.tables import BookError
from tests.records.memory import chain_of
from tests.support.fake_time import FakeClock

TOLD = Told(heading="a word")
OTHER = chain_of(("r2", TOLD), ("r2", TOLD))


@pytest.fixture(name="book")
def _book(tmp_path: Path) -> Book:
    """A book with one entry, in whose file the database refuses every entry of the run `refused`."""
    place = tmp_path / "book.sqlite3"
    book = Book(place, FakeClock())
    book.append("r1", TOLD)
    with sqlite3.connect(place) as file:
        file.execute(
            "CREATE TRIGGER refuses BEFORE INSERT ON entries WHEN new.run = 'refused' "
            "BEGIN SELECT RAISE(ABORT, 'not this one'); END"
        )
    file.close()
    return book


def runs_in(book: Book) -> list[str]:
    """The run of each entry, in order."""
    return [row.run for row in book.rows()]


def test_a_refused_entry_is_said_and_forgotten(book: Book) -> None:
    """The book goes on in its chain behind the last entry that was kept, also when it is opened again."""
    with pytest.raises(BookError, match=r"cannot be written \(not this one\)\. Check that the file and its folder"):
        book.append("refused", TOLD)
    book.append("r1", TOLD)
    with pytest.raises(BookError):
        book.append("refused", TOLD)
    book.close()
    with Book(book.path, FakeClock()) as again:
        again.append("r1", TOLD)

        assert ["r1"] * 3 == runs_in(again)
        (chain,) = again.chains()
        assert [] == check_chain(chain)


def write_refused(book: Book, refused: list[str]) -> None:
    """A whole of three entries, of which the second is refused; the runs of those that are refused are told."""
    with book.together():
        book.append("r1", TOLD)
        for run in ("refused", "r1"):
            with pytest.raises(BookError, match="not this one"):
                book.append(run, TOLD)
            refused.append(run)


def test_a_refused_part_is_the_end_of_the_whole(book: Book) -> None:
    """It is said at once, nothing more is written into the whole, and nothing of it is kept."""
    refused: list[str] = []
    with pytest.raises(BookError, match="not this one"):
        write_refused(book, refused)

    assert ["refused", "r1"] == refused
    assert ["r1"] == runs_in(book)
    assert 2 == book.append("r1", TOLD).sequence


def test_a_part_that_fails_by_itself_leaves_the_rest(book: Book) -> None:
    """A chain that was taken before another one proved to be a fork is not kept; what else was written is."""
    one = chain_of(("r3", TOLD), ("r3", TOLD))
    otherwise = [one[0], link_row(one[0], run="r3", kind="told", at="t", elapsed_us=7, payload=one[1].payload)]
    book.receive(one)
    with book.together():
        book.append("r1", TOLD)
        with pytest.raises(ForkError):
            book.receive(OTHER, otherwise)
        book.append("r1", TOLD)

    assert [3, 2] == [len(rows) for rows in book.chains()]
    assert ["r1"] * 3 + ["r3"] * 2 == sorted(runs_in(book))


def fail_after_joining(book: Book) -> None:
    """A whole that takes a chain and begins the bench's own, and comes to nothing."""
    with book.together():
        book.receive(OTHER)
        book.append("r1", TOLD)
        raise ZeroDivisionError


def test_a_whole_that_fails_leaves_the_book_as_it_was(tmp_path: Path) -> None:
    """A chain that was joined in it is not there, and places are again those of one chain."""
    book = Book(tmp_path / "book.sqlite3", FakeClock())
    with pytest.raises(ZeroDivisionError):
        fail_after_joining(book)
    row = book.append("r1", TOLD)

    assert (1, 1, 0) == (row.sequence, row.place, row.chain)
    assert [[row]] == book.chains()


def test_two_openings_write_in_turn(book: Book) -> None:
    """Each goes on behind what the other one wrote meanwhile."""
    with Book(book.path, FakeClock()) as other:
        for each in (book, other, book, other):
            each.append("r1", TOLD)

    assert [1, 2, 3, 4, 5] == [row.sequence for row in book.rows()]
    assert [] == check_chain(list(book.rows()))
