"""The thread that reads for several runs: each gets its own answer, and what waits together is answered in one look."""

import itertools
import threading
from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path

import pytest

from commission.evidence.runs import Note
from commission.records.book import Book, BookError
from commission.records.eye import MOST_TOGETHER, Eye
from tests.records.books import Workshop
from tests.support.patience import PATIENCE_S

RUN = "bench-3/2031-03-14/1"


@pytest.fixture(name="book")
def _book(tmp_path: Path) -> Book:
    """A book of one run."""
    workshop = Workshop(tmp_path)
    workshop.whole_run(RUN)
    return workshop.book


def asked_together(eye: Eye, *questions: Callable[[], object]) -> "list[Future[object]]":
    """Have all of them wait before the first is looked at: something else is being done meanwhile."""
    begun, goes_on = threading.Event(), threading.Event()

    def something_else() -> None:
        begun.set()
        goes_on.wait(PATIENCE_S)

    eye.submit(something_else)
    begun.wait(PATIENCE_S)
    waiting = [eye.submit(question) for question in questions]
    goes_on.set()
    return waiting


def test_what_waits_together_is_worked_out_once(book: Book) -> None:
    """Within a look, and no further than so many questions."""
    numbers = itertools.count(1)

    def ask() -> int:
        return book.once("this", lambda: next(numbers))

    with Eye(book) as eye:
        answers = [each.result(PATIENCE_S) for each in asked_together(eye, *[ask] * (MOST_TOGETHER + 1))]

    assert 8 == MOST_TOGETHER
    assert [1] * MOST_TOGETHER + [2] == answers


def test_what_was_written_before_is_seen(book: Book) -> None:
    """A question sees the book at least as it was when it was asked."""
    with Eye(book) as eye:
        for count in range(1, 4):
            book.append(RUN, Note(tag_of_printer="bench-3", what="remark", text="Written."))
            assert count == eye.submit(lambda: len(list(book.records(Note)))).result(PATIENCE_S)


def test_an_error_comes_to_who_asked(book: Book) -> None:
    """The others beside it are answered."""

    def wrong() -> None:
        raise ValueError("asked wrongly")

    with Eye(book) as eye:
        before, own, behind = asked_together(eye, lambda: "before", wrong, lambda: "behind")

        assert ("before", "behind") == (before.result(PATIENCE_S), behind.result(PATIENCE_S))
        with pytest.raises(ValueError, match="asked wrongly"):
            own.result(PATIENCE_S)


def test_a_book_that_is_gone_answers_nobody(book: Book) -> None:
    """Each who waits gets the error."""
    with Eye(book) as eye:
        book.close()
        book.path.unlink()
        book.path.mkdir()
        for question in [eye.submit(lambda: "never answered") for _ in range(3)]:
            with pytest.raises(BookError, match="cannot be read"):
                question.result(PATIENCE_S)
