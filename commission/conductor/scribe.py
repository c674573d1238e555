"""Writes a run's entries, in order and off the event loop, and collects the bytes that went over the wire."""

import asyncio
from collections.abc import Sequence
from concurrent.futures import Executor, Future, ThreadPoolExecutor, wait
from functools import cached_property

from commission.asking.request import Recall
from commission.asking.reread import RecordedAnswer, Reread
from commission.evidence.about import told_by
from commission.evidence.counted import Piece, counted_bytes
from commission.evidence.entry import NOTHING_TOLD, About, Entry
from commission.evidence.findings.base import Finding
from commission.evidence.wire import Bytes, CountedBytes, Stretch
from commission.records.answers import given_in
from commission.records.book import Book
from commission.records.chain import Row
from commission.records.history import newest_finding, same_printer_before
from commission.session import Traffic

KEEP_EVERY_S = 1.0
"""Bytes wait no longer than this for the book, as long as more of them come: a wait can be long, and end in a kill."""


def _counted(parts: Sequence[Traffic], timed: bool) -> tuple[CountedBytes, bytes]:  # noqa: FBT001 - handed on
    return counted_bytes([Piece(part.sent, part.data, part.at_s) for part in parts], timed=timed)


class Scribe:
    """The one hand that writes into the book while a run is on.

    One thread, so that a slow disk never holds up the conversation and the order stays as it was. Every call returns
    once its entry is on the disk.

    Args:
        hand: one thread that writes for several runs in turn, so that none of them waits long for the book; one of its
            own if left out.

    Attributes:
        counting: exchanges are kept as counts, so that their bytes wait for `flush_counted`.
    """

    def __init__(self, book: Book, run: str, about: About = NOTHING_TOLD, hand: Executor | None = None) -> None:
        self.run = run
        self._book = book
        self._about = about
        self._lent = hand is not None
        self._hand: Executor = hand or ThreadPoolExecutor(max_workers=1, thread_name_prefix="scribe")
        self.counting = False
        self._parts: list[Traffic] = []
        self._ahead: list[Future[Row]] = []

    async def write(self, entry: Entry, raw: bytes = b"") -> Row:
        """Append one entry, with what it belongs to as far as that is known by then.

        Raises:
            BookError: the book cannot be written; the run must end.
        """
        await self._written_ahead()
        self._about = told_by(entry, self._about)
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._hand, self._book.append, self.run, entry, self._about, raw)

    async def read_back(self, request: Recall | Reread) -> Finding | tuple[RecordedAnswer, ...] | None:
        """What a procedure wants to know again, from the disk."""
        if isinstance(request, Reread):
            return await self.reread(request.phase)
        return await self.recall(request.kind, earlier=request.earlier, not_of=request.not_of)

    async def recall(
        self, kind: type[Finding], *, earlier: bool = False, not_of: tuple[str, ...] = ()
    ) -> Finding | None:
        """The newest finding of that kind, of this run or of the printer's earlier ones, from the disk."""
        loop = asyncio.get_running_loop()

        def found() -> Finding | None:
            with self._book.one_look():
                return newest_finding(self._book, kind, self._earlier if earlier else [self.run], not_of)

        return await loop.run_in_executor(self._hand, found)

    async def reread(self, phase: str) -> tuple[RecordedAnswer, ...]:
        """What that phase of this run was answered, from the disk; empty where it came to no end."""
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._hand, given_in, self._book, self.run, phase)

    @cached_property
    def _earlier(self) -> list[str]:
        """The printer's other runs; while this one goes on no other one of it begins."""
        return same_printer_before(self._book, self.run)

    def overheard(self, traffic: Traffic) -> None:
        """Keep bytes for the next `flush`; those of more than a second go on their way to the disk at once."""
        self._parts.append(traffic)
        if not self.counting and traffic.at_s - self._parts[0].at_s >= KEEP_EVERY_S:
            entry, raw = self._taken()
            moment = self._book.moment()
            self._ahead.append(self._hand.submit(self._book.append, self.run, entry, self._about, raw, moment))

    async def flush(self) -> None:
        """Write the bytes heard and sent since the last time, if there were any.

        The entry holds all of them in one piece; `parts` says for each stretch whether it was sent, when (microseconds
        of monotonic time) and how long it is.

        Raises:
            BookError: these, or some before them, cannot be written.
        """
        await self._written_ahead()
        if self._parts:
            await self.write(*self._taken())

    def _taken(self) -> tuple[Bytes, bytes]:
        parts, self._parts = self._parts, []
        stretches = tuple(Stretch(part.sent, round(1e6 * part.at_s), len(part.data)) for part in parts)
        return Bytes(parts=stretches), b"".join(part.data for part in parts)

    async def _written_ahead(self) -> None:
        """Wait for the bytes that are on their way to the disk; what went wrong there is raised here."""
        ahead, self._ahead = self._ahead, []
        for each in ahead:
            if not each.done():  # in a thread: who is broken off here takes none of it back
                await asyncio.to_thread(wait, [each])
            each.result()

    async def flush_counted(self, *, timed: bool = False) -> None:
        """The same where one exchange is like the other: see `counting`, and `counted_bytes` for `timed`."""
        await self._written_ahead()
        if self._parts:
            parts, self._parts = self._parts, []
            loop = asyncio.get_running_loop()
            await self.write(*await loop.run_in_executor(self._hand, _counted, parts, timed))

    def close(self) -> None:
        """Finish what is being written."""
        wait(self._ahead)
        if not self._lent:
            self._hand.shutdown(wait=True)
