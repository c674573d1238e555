"""The record book on disk: append an entry, read entries back."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, ExitStack, contextmanager, nullcontext, suppress
from dataclasses import replace
from datetime import date
from itertools import groupby
from operator import attrgetter
from pathlib import Path
from types import TracebackType

from sqlalchemy import Connection, Engine

from commission.clock import Clock
from commission.evidence.entry import NOTHING_TOLD, About, Entry
from commission.evidence.runs import Note, RunEnded, RunResumed, RunStarted
from commission.files.book_file import closed, opened
from commission.records.bench_clock import BenchClock
from commission.records.chain import ChainFault, Row
from commission.records.chains import chains_in, heads_in, numbering_of, own_chain
from commission.records.facts import MARKS
from commission.records.joining import receive
from commission.records.joint import Joint
from commission.records.look import Looks
from commission.records.numbering import Numbering, lies, lies_at
from commission.records.pen import Pen
from commission.records.questions import Questions
from commission.records.read_only import reading_engine
from commission.records.reader import PAGE, Reader
from commission.records.rows import Moment, digest_at, newest_mark, readable, record_of
from commission.records.survey import Damage, faults_of, survey, survey_chain
from commission.records.tables import PATIENCE_S, BookError, begin_book, open_engine, reading, require_book
from commission.records.trouble import NOT_OPENED, NOT_READ, REFUSALS, REFUSALS_TO_OPEN, advice, reason
from commission.records.upgrade import bring_up_to_date

__all__ = ["MARKS", "PAGE", "Book", "BookError", "record_of"]

_TURNS = frozenset(kind.kind() for kind in (*MARKS, Note))


class Book(Questions):
    """One file that holds every run. Entries are only ever appended; the database refuses anything else.

    They stand in the chains of one bench or of several; what is appended goes into the chain of this bench.
    Several processes may append in turn; of a process one thread at a time, while others read.
    """

    def __init__(
        self,
        path: Path,
        clock: Clock,
        *,
        reads_only: bool = False,
        patience_s: float = PATIENCE_S,
        clocks: Mapping[str, BenchClock] | None = None,
    ) -> None:
        """Open or create the book.

        Args:
            path: its file.
            clock: for what is appended.
            reads_only: nothing is made, written or locked; appending is an error then.
            patience_s: so long it is waited for a program that has the book locked.
            clocks: what is known of the clocks of the benches, for who reads in the order of corrected times.

        Raises:
            BookError: the file is not a book this program can use, or cannot be written.
        """
        self.path = path
        self._clock = clock
        self._opened_s = clock.monotonic()
        self._reads_only = reads_only
        self._clocks = clocks
        self._open = ExitStack()
        self._known: Reader | None = None
        self._looks = Looks()
        try:
            if not path.exists() and not reads_only:
                begin_book(path)
            require_book(path)
            self._open.callback(closed, opened(path))
            self._engine = self._engine_on(path, patience_s)
            self._open.callback(self._engine.dispose)
            self._as_made = bring_up_to_date(self._engine, path, reads_only=reads_only)
            self._pen = Pen(path)
            self._joint = Joint(self._engine, path, self._pen, reads_only=reads_only, undone=self._number_anew)
            self._take_up_the_chain()
        except REFUSALS_TO_OPEN as error:
            self._open.close()
            raise BookError(
                f"The record book {path} cannot be opened ({reason(error)}). {advice(error, NOT_OPENED)}"
            ) from error
        except BookError:
            self._open.close()
            raise

    def _engine_on(self, path: Path, patience_s: float) -> Engine:
        if self._reads_only:
            return reading_engine(path, self._open, patience_s)
        return open_engine(path, patience_s)

    def __enter__(self) -> "Book":
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _error: BaseException | None, _trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        with suppress(BookError, OSError):  # what is not kept of the chain's end is kept the next time
            self._pen.put_down()
        self._open.close()

    def _take_up_the_chain(self) -> None:
        """Settle who writes before anything is read: a copy begins its chain at once."""
        if self._reads_only:
            return
        with self._reading() as connection:
            bench, chain = own_chain(connection, self.path)
            settled = not chains_in(connection) or (chain is not None and bench.origin)
        if not settled:
            with self._joint.writing() as connection:
                self._pen.own(connection, self.moment())

    def _number_anew(self) -> None:
        """Read which chains there are before the next question: what was known may have come to nothing."""
        self._known = None

    @property
    def _reader(self) -> Reader:
        reader = self._known
        if reader is None:
            with self._reading() as connection:
                reader = self._numbered(connection)
        return reader

    def _numbered(self, connection: Connection) -> Reader:
        numbering = numbering_of(connection, indexed=self._as_made, clocks=self._clocks)
        self._known = reader = Reader(self._reading, indexed=self._as_made, numbering=numbering, looks=self._looks)
        return reader

    def moment(self) -> Moment:
        """Now, as an entry keeps it."""
        elapsed_us = round(1e6 * (self._clock.monotonic() - self._opened_s))
        return Moment(self._clock.now().isoformat(timespec="milliseconds"), elapsed_us)

    def append(
        self,
        run: str,
        entry: Entry,
        about: About = NOTHING_TOLD,
        raw: bytes = b"",
        moment: Moment | None = None,
    ) -> Row:
        """Write one entry behind the newest and return its row once it is on the disk.

        Args:
            run: number of the run it belongs to.
            entry: what happened.
            about: what it belongs to, as far as that is known.
            raw: bytes that went over the wire.
            moment: when it happened, where it is written later.

        Raises:
            BookError: it could not be written, or is a second end of a run; nothing of it was kept.
            ValueError: it could not be read back; nothing of it was kept.
        """
        number, moment = self._reader.numbering.plain(run), moment or self.moment()
        with self._joint.writing() as connection:
            chain = self._pen.own(connection, moment)
            if isinstance(entry, RunEnded) and newest_mark(connection, number, chain) == RunEnded.kind():
                raise BookError(f"The run {run} has come to its end already: what it came to stands.")
            if isinstance(entry, RunResumed):
                self._pen.require_own(connection, number, moment)
            row = self._pen.append(connection, number, entry, about, raw or None, moment)
            return self._placed(connection, row)

    def start_run(self, tag: str, day: date, begin: Callable[[str], RunStarted], about: About = NOTHING_TOLD) -> Row:
        """Give a new run its number and write its beginning, both at once: no two runs get the same number.

        Args:
            tag: the owner's name for the printer.
            day: the day it begins; tag, day and a count are the number.
            begin: its first entry, given the number.
            about: what it belongs to, as far as that is known.

        Raises:
            BookError: it could not be written; nothing of it was kept.
        """
        with self._joint.writing() as connection:
            now = self.moment()
            self._pen.own(connection, now)
            number = self._pen.number(connection, tag, day)
            row = self._pen.append(connection, number, begin(number), about, None, now)
            return self._placed(connection, row)

    def _placed(self, connection: Connection, row: Row) -> Row:
        """A row that was written, with its place and the name of its run; looked up where it was written."""
        reader = self._reader
        if row.chain not in reader.numbering.chains:
            reader = self._numbered(connection)
        numbering, where = reader.numbering, lies(row)
        if numbering.single:
            return row
        if row.kind in _TURNS or not numbering.last_turn(row.chain):
            reader.learn(connection)
        return replace(row, order=numbering.place(where), run=numbering.name(where, row.run))

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        look = self._looks.now
        try:
            with reading(self._engine) if look is None else nullcontext(look.connection) as connection:
                yield connection
        except REFUSALS as error:
            raise BookError(
                f"The record book {self.path} cannot be read ({reason(error)}). {advice(error, NOT_READ)}"
            ) from error

    def together(self) -> AbstractContextManager[None]:
        """What this thread appends within the block is on the disk when the block has ended, all of it or nothing.

        Raises:
            BookError: when it ends: nothing of it was kept.
        """
        return self._joint.together()

    def receive(self, *chains: Sequence[Row]) -> int:
        """Take what the book lacks of these chains, digests and all as they are; returns how many entries that were.

        Args:
            chains: each in order and sound; whole, or what follows an entry that the book has.

        Raises:
            ForkError: the book has one of them, and it goes on otherwise here; nothing was kept.
            BookError: they cannot be written; nothing of them was kept.
        """
        with self._joint.writing() as connection:
            added = sum(receive(connection, rows) for rows in chains)
        self._number_anew()
        return added

    def chains(self) -> list[list[Row]]:
        """Every chain as it was written, each whole and in order.

        Raises:
            BookError: an entry cannot be read; it is named.
        """
        rows = list(Reader(self._reading, indexed=False, numbering=Numbering()).rows(None, ()))
        for _ in readable(self.path, (record_of(row) for row in rows if row.damage)):
            pass
        return [list(of) for _, of in groupby(rows, key=attrgetter("chain"))]

    def heads(self) -> list[tuple[str, Row]]:
        """Of each chain its origin, the digest of its first entry, and its newest row."""
        with self._reading() as connection:
            return heads_in(connection)

    def goes_on_here(self, run: str) -> bool:
        """Whether the run stands in the chain of this bench, so that it can be taken up again here."""
        with self._reading() as connection:
            _, chain = own_chain(connection, self.path)
        first = next(self.rows(run), None)
        return first is not None and first.chain == chain

    def has_entry(self, number: int) -> bool:
        """Whether the chain of this bench has an entry of that number."""
        with self._reading() as connection:
            _, chain = own_chain(connection, self.path)
            return chain is not None and digest_at(connection, lies_at(chain, number)) is not None

    def survey(self) -> tuple[list[Row], Damage]:
        """Everything that can be read of the book, chain by chain, and what is wrong with its file; no fault ends it.

        Raises:
            BookError: the file cannot be opened any more.
        """
        with self._reading() as connection:
            return survey(connection)

    def faults_before(self, row: Row, after: tuple[int, str]) -> list[ChainFault]:
        """Where the chain of that row is not as it was written, up to and with it.

        Args:
            row: an entry of the book.
            after: number and digest of an entry of its chain that is sound, as is everything before it.
        """
        with self._reading() as connection:
            rows, damage = survey_chain(connection, (lies_at(row.chain, after[0] + 1), lies(row)))
        return [*damage.faults, *faults_of(rows, damage, after)]

    def verify(self) -> list[ChainFault]:
        """Every fault of the file and of the chains, from the first entry on."""
        rows, damage = self.survey()
        return [*damage.faults, *faults_of(rows, damage)]
