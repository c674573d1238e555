"""The transactions that write into a book: each entry in one of its own, or what waits together in one.

A commit waits for the disk; what waits together waits once.
"""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine

from commission.records.tables import BookError
from commission.records.trouble import NOT_WRITTEN, REFUSALS, advice, reason


class Joint:
    """Begins and ends them.

    Args:
        engine: on the book's file.
        path: the file, for what is said of it.
        reads_only: nothing may be written.
    """

    def __init__(self, engine: Engine, path: Path, *, reads_only: bool) -> None:
        self._engine = engine
        self._path = path
        self._reads_only = reads_only
        self._own = threading.local()

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction, kept whole or not at all; within `together`, a part of that one.

        Raises:
            BookError: nothing of it was kept.
        """
        joint: Connection | None = getattr(self._own, "connection", None)
        with self._kept():
            if joint is None:
                with self._engine.begin() as connection:
                    yield connection
            else:
                with joint.begin_nested():
                    yield joint

    @contextmanager
    def together(self) -> Iterator[None]:
        """What this thread writes within the block is on the disk when the block has ended, all of it or nothing.

        Raises:
            BookError: nothing of it was kept.
        """
        with self._kept(), self._engine.begin() as connection:
            self._own.connection = connection
            try:
                yield
            finally:
                self._own.connection = None

    @contextmanager
    def _kept(self) -> Iterator[None]:
        if self._reads_only:
            raise BookError(f"The record book {self._path} was opened to be read only: nothing is written into it.")
        try:
            yield
        except REFUSALS as error:
            said = f"The record book {self._path} cannot be written ({reason(error)}). {advice(error, NOT_WRITTEN)}"
            raise BookError(said) from error
