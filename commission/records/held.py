"""A book's file as a holder of chains: its entries as they are, whoever wrote them; see `carrying`."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, ExitStack, contextmanager
from pathlib import Path
from types import TracebackType

from sqlalchemy import Connection, select

from commission.files.book_file import closed, opened
from commission.records.carrying import STRETCH, End
from commission.records.chain import Row
from commission.records.chains import heads_in, origins_in
from commission.records.joining import receive
from commission.records.numbering import extent, lies_at
from commission.records.rows import digest_at, row_of
from commission.records.schema import entries
from commission.records.tables import BY_SEQUENCE, BookError, begin_book, open_engine, reading, require_book
from commission.records.trouble import NOT_OPENED, NOT_READ, NOT_WRITTEN, REFUSALS_TO_OPEN, advice, reason
from commission.records.upgrade import bring_up_to_date


class HeldBook:
    """The chains of a book; nothing is appended to any of them but what was written elsewhere.

    No bench begins a chain of its own by it: a mirror has none.

    Args:
        path: the file; it is begun where there is none.

    Raises:
        BookError: it cannot be used.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        with ExitStack() as begun, self._translated("cannot be opened", NOT_OPENED):
            if not path.exists():
                begin_book(path)
            require_book(path)
            begun.callback(closed, opened(path))
            self._engine = open_engine(path)
            begun.callback(self._engine.dispose)
            bring_up_to_date(self._engine, path)
            self._open = begun.pop_all()

    def __enter__(self) -> "HeldBook":
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _error: BaseException | None, _trace: TracebackType | None
    ) -> None:
        self._open.close()

    def ends(self) -> Mapping[str, End]:
        """How far the book has each chain."""
        with self._reading() as connection:
            return {origin: End(row.sequence, row.digest) for origin, row in heads_in(connection)}

    def digest_of(self, origin: str, number: int) -> str | None:
        """The digest of an entry; None where there is none of that number."""
        with self._reading() as connection:
            chain = _chain(connection, origin)
            return None if chain is None else digest_at(connection, lies_at(chain, number))

    def behind(self, origin: str, number: int) -> Iterator[Sequence[Row]]:
        """What there is of the chain behind that entry, in stretches; no lock is held between two of them."""
        with self._reading() as connection:
            chain = _chain(connection, origin)
        if chain is None:
            return
        query = select(entries).with_hint(entries, BY_SEQUENCE).order_by(entries.c.sequence).limit(STRETCH)
        while True:
            with self._reading() as connection:
                within = entries.c.sequence.between(lies_at(chain, number + 1), extent(chain)[1])
                rows = [row_of(each) for each in connection.execute(query.where(within))]
            if rows:
                yield rows
            if len(rows) < STRETCH:
                return
            number = rows[-1].sequence

    def take(self, _origin: str, rows: Sequence[Row]) -> int:
        """Take what the book lacks of a sound stretch, whole or not at all; returns how many entries that were.

        Raises:
            ForkError: the book has the chain, and it goes on otherwise.
            BookError: it cannot be written; nothing of the stretch was kept.
        """
        with self._translated("cannot be written", NOT_WRITTEN), self._engine.begin() as connection:
            return receive(connection, rows)

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with self._translated("cannot be read", NOT_READ), reading(self._engine) as connection:
            yield connection

    def _translated(self, what: str, otherwise: str) -> AbstractContextManager[None]:
        return _translated(self._path, what, otherwise)


@contextmanager
def _translated(path: Path, what: str, otherwise: str) -> Iterator[None]:
    try:
        yield
    except REFUSALS_TO_OPEN as error:
        said = advice(error, otherwise)
        raise BookError(f"The record book {path} {what} ({reason(error)}). {said}") from error


def _chain(connection: Connection, origin: str) -> int | None:
    """The number of the chain in the file; None where it is not there."""
    return {of: chain for chain, of in origins_in(connection).items()}.get(origin)
