"""The bytes on their way into the book: each once, in order, and no later than a second while more of them come."""

from pathlib import Path

import pytest

from commission.conductor.scribe import Scribe
from commission.evidence.talk import Told
from commission.evidence.wire import Bytes
from commission.records.book import Book, BookError
from commission.session import Traffic
from tests.support.fake_time import FakeClock

RUN = "bench-3/2031-03-14/1"
BUSY = b"echo:busy: processing\n"


def heard(scribe: Scribe, clock: FakeClock, data: bytes, at_s: float) -> None:
    """Bytes that come at that moment."""
    clock.elapsed_s = at_s
    scribe.overheard(Traffic(sent=False, data=data, at_s=at_s))


def kept(book: Book) -> list[tuple[int, bytes]]:
    """The bytes in the book, each piece with the milliseconds at which it was handed over."""
    return [(record.elapsed_us // 1000, record.raw) for record in book.records(Bytes)]


def test_bytes_reach_the_book_while_it_is_waited(tmp_path: Path) -> None:
    """A busy printer's words stand on the disk although nothing has come to its end: a kill loses the newest only."""
    clock = FakeClock()
    with Book(tmp_path / "book.sqlite3", clock) as book:
        scribe = Scribe(book, RUN)
        for beat in range(5):
            heard(scribe, clock, BUSY, 2.0 * beat)
        scribe.close()

        assert [(2000, BUSY * 2), (6000, BUSY * 2)] == kept(book)


async def test_every_byte_is_kept_once_and_in_order(tmp_path: Path) -> None:
    """What went ahead stands before the entry that follows it, and the rest just before that."""
    clock = FakeClock()
    with Book(tmp_path / "book.sqlite3", clock) as book:
        scribe = Scribe(book, RUN)
        for count, at_s in enumerate((0.0, 0.4, 1.0, 1.2)):
            heard(scribe, clock, b"%d" % count, at_s)
        await scribe.flush()
        await scribe.write(Told(heading="done"))
        scribe.close()

        assert [(1000, b"012"), (1200, b"3")] == kept(book)
        assert ["traffic", "traffic", "told"] == [row.kind for row in book.rows()]
        assert [] == book.verify()


async def test_bytes_that_cannot_be_written_end_the_run(tmp_path: Path) -> None:
    """What went wrong on the way to the disk is raised at the next entry."""
    clock = FakeClock()
    Book(tmp_path / "book.sqlite3", clock).close()
    with Book(tmp_path / "book.sqlite3", clock, reads_only=True) as book:
        scribe = Scribe(book, RUN)
        heard(scribe, clock, BUSY, 0.0)
        heard(scribe, clock, BUSY, 2.0)
        with pytest.raises(BookError):
            await scribe.write(Told(heading="done"))
        scribe.close()
