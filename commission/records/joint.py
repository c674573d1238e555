"""The transactions that write into a book: each entry in one of its own, or what waits together in one.

A commit waits for the disk; what waits together waits once.
"""

import threading
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine

from commission.records.pen import Pen
from commission.records.tables import BookError
from commission.records.trouble import NOT_WRITTEN, REFUSALS, advice, reason


class Joint:
    """Begins and ends them.

    Args:
        engine: on the book's file.
        path: the file, for what is said of it.
        pen: what is written with; a part that fails leaves it as it was, a whole that fails makes it forget.
        reads_only: nothing may be written.
        undone: called when a whole transaction came to nothing.
    """

    def __init__(self, engine: Engine, path: Path, pen: Pen, *, reads_only: bool, undone: Callable[[], None]) -> None:
        self._engine = engine
        self._path = path
        self._pen = pen
        self._reads_only = reads_only
        self._undone = undone
        self._own = threading.local()

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction, kept whole or not at all; within `together`, a part of that one.

        Raises:
            BookError: nothing of it was kept.
        """
        joint: Connection | None = getattr(self._own, "connection", None)
        if joint is None:
            with self._whole() as connection:
                yield connection
        else:
            with self._part(joint):
                yield joint

    @contextmanager
    def together(self) -> Iterator[None]:
        """What this thread writes within the block is on the disk when the block has ended, all of it or nothing.

        Raises:
            BookError: nothing of it was kept.
        """
        with self._whole() as connection:
            self._own.connection, self._own.refused = connection, None
            try:
                yield
            finally:
                self._own.connection = None
            if self._own.refused is not None:
                raise self._own.refused

    @contextmanager
    def _whole(self) -> Iterator[Connection]:
        if self._reads_only:
            raise BookError(f"The record book {self._path} was opened to be read only: nothing is written into it.")
        try:
            with self._engine.begin() as connection:
                self._pen.begin()
                yield connection
        except BaseException as error:
            self._pen.forget()
            self._undone()
            if isinstance(error, REFUSALS):
                raise self._said(error) from error
            raise

    @contextmanager
    def _part(self, joint: Connection) -> Iterator[None]:
        """A part that the database refuses is the end of the whole: it may have given up all of it by itself.

        Source: SQLite documentation, "Response To Errors Within A Transaction".
        """
        if self._own.refused is not None:
            raise self._own.refused
        try:
            with self._pen.in_part(), _part_of(joint):
                yield
        except REFUSALS as error:
            self._own.refused = self._said(error)
            raise self._own.refused from error

    def _said(self, error: Exception) -> BookError:
        return BookError(
            f"The record book {self._path} cannot be written ({reason(error)}). {advice(error, NOT_WRITTEN)}"
        )


@contextmanager
def _part_of(joint: Connection) -> Iterator[None]:
    """A savepoint, as the driver has it: the library's own way to it takes longer than most of what is written.

    What the database refuses needs no way back, for it is the end of the whole.
    """
    with closing(joint.connection.cursor()) as driver:
        driver.execute("SAVEPOINT part")
        try:
            yield
        except REFUSALS:
            raise
        except BaseException:
            driver.execute("ROLLBACK TO part")
            driver.execute("RELEASE part")
            raise
        driver.execute("RELEASE part")
