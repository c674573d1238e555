"""The shared book as a holder of chains; see `carrying`.

A stretch is one transaction under a lock on its chain: of two benches that carry the same chain at once, the second
finds what the first has written. Whatever ends a transaction, all of its stretch is kept or nothing.
"""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from datetime import datetime
from types import TracebackType

from sqlalchemy import ColumnElement, Connection, Engine, func, insert, select, text

from commission.records.carrying import STRETCH, End
from commission.records.chain import Row
from commission.records.joining import lacking
from commission.records.shared.address import SharedAddress
from commission.records.shared.clocks import ClockCheck
from commission.records.shared.line import engine_on, translated
from commission.records.shared.steps import require_prepared, step_of
from commission.records.shared.tables import SCHEMA, chains, clock_checks, entries, row_in, values_of

_MAY_WRITE = (
    f"SELECT has_table_privilege('{SCHEMA}.entries', 'INSERT') AND NOT pg_is_in_recovery() "
    "AND current_setting('default_transaction_read_only') = 'off'"
)


class SharedBook:
    """The shared book at an address, over one line.

    Args:
        address: of the database.

    Raises:
        NotInstalled: the extra is not installed.
        SharedAway: it cannot be reached; every method may raise it too.
        BookError: it lets nobody in by this address, or holds no shared book for this program.

    Attributes:
        may_write: whether entries can be added by this login.
    """

    def __init__(self, address: SharedAddress) -> None:
        self._address = address
        self._engine: Engine = engine_on(address)
        self._open = ExitStack()
        with translated(address):
            self._line = self._open.enter_context(self._engine.connect())
            with self._line.begin():
                step = step_of(self._line)
            try:
                require_prepared(address, step)
                with self._line.begin():
                    self.may_write = bool(self._line.scalar(text(_MAY_WRITE)))
            except BaseException:
                self._open.close()
                raise

    def __enter__(self) -> "SharedBook":
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _error: BaseException | None, _trace: TracebackType | None
    ) -> None:
        self._open.close()
        self._engine.dispose()

    @contextmanager
    def _transaction(self) -> Iterator[Connection]:
        with translated(self._address), self._line.begin():
            yield self._line

    def ends(self) -> Mapping[str, End]:
        """How far the shared book has each chain."""
        of_chain = entries.c.chain == chains.c.chain
        newest = select(entries.c.number, entries.c.digest).where(of_chain).order_by(entries.c.number.desc()).limit(1)
        last = newest.lateral("newest")
        query = select(chains.c.origin, last.c.number, last.c.digest).select_from(chains.join(last, text("true")))
        with self._transaction() as line:
            return {origin.hex(): End(number, digest.hex()) for origin, number, digest in line.execute(query)}

    def digest_of(self, origin: str, number: int) -> str | None:
        """The digest of an entry; None where there is none of that number."""
        with self._transaction() as line:
            return _digest_at(line, _chain(line, origin), number)

    def behind(self, origin: str, number: int) -> Iterator[Sequence[Row]]:
        """What there is of the chain behind that entry, in stretches."""
        query = select(entries).order_by(entries.c.number).limit(STRETCH)
        while True:
            with self._transaction() as line:
                of_chain = entries.c.chain == _chain(line, origin)
                rows = [row_in(each) for each in line.execute(query.where(of_chain, entries.c.number > number))]
            if rows:
                yield rows
            if len(rows) < STRETCH:
                return
            number = rows[-1].sequence

    def take(self, origin: str, rows: Sequence[Row]) -> int:
        """Take what is lacking of a sound stretch, whole or not at all; returns how many entries that were.

        Raises:
            ForkError: the chain goes on otherwise here.
            BookError: the database refuses it.
        """
        with self._transaction() as line:
            line.execute(select(func.pg_advisory_xact_lock(_lock(origin))))
            chain = _chain(line, origin)
            if chain is None and rows[0].sequence == 1:
                begun = insert(chains).values(origin=bytes.fromhex(origin)).returning(chains.c.chain)
                chain = line.scalar(begun)
            held = line.scalar(select(func.max(entries.c.number)).where(entries.c.chain == chain)) or 0
            new = lacking(rows, held, lambda number: _digest_at(line, chain, number))
            if new:
                line.execute(insert(entries), [values_of(chain or 0, row) for row in new])
            return len(new)

    def now(self) -> datetime:
        """The time by the database's own clock, at this moment."""
        with self._transaction() as line:
            found: datetime = line.execute(select(func.clock_timestamp())).scalar_one()
            return found

    def keep_clock(self, check: ClockCheck) -> None:
        """Keep what was found of a bench's clock."""
        origin = bytes.fromhex(check.origin) if check.origin else None
        values = {"computer": check.computer, "ahead_ms": check.ahead_ms, "within_ms": check.within_ms}
        with self._transaction() as line:
            line.execute(insert(clock_checks).values(origin=origin, **values))

    def clocks(self) -> list[ClockCheck]:
        """The newest of each bench, the one that was looked at last at the end."""
        newest = select(func.max(clock_checks.c.number)).group_by(clock_checks.c.origin)
        return [check for _, check in self._checks(clock_checks.c.number.in_(newest))]

    def clocks_behind(self, number: int) -> list[tuple[int, ClockCheck]]:
        """All that was found behind the one of that number, in order, each with its number."""
        return self._checks(clock_checks.c.number > number)

    def _checks(self, wanted: ColumnElement[bool]) -> list[tuple[int, ClockCheck]]:
        query = select(clock_checks).where(wanted).order_by(clock_checks.c.number)
        with self._transaction() as line:
            found = line.execute(query).all()
        return [
            (
                number,
                ClockCheck(
                    origin.hex() if origin else "", computer, ahead_ms, within_ms, at.isoformat(timespec="seconds")
                ),
            )
            for number, at, origin, computer, ahead_ms, within_ms in found
        ]


def _lock(origin: str) -> int:
    """The number of a chain's lock: the first 8 bytes of its origin, with a sign."""
    return int.from_bytes(bytes.fromhex(origin)[:8], "big", signed=True)


def _chain(line: Connection, origin: str) -> int | None:
    return line.scalar(select(chains.c.chain).where(chains.c.origin == bytes.fromhex(origin)))


def _digest_at(line: Connection, chain: int | None, number: int) -> str | None:
    found = line.scalar(select(entries.c.digest).where(entries.c.chain == chain, entries.c.number == number))
    return None if found is None else bytes(found).hex()
