"""Reading a book: nothing is written into it, nobody waits for it, and a medium that cannot be written will do."""

import json
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from commission.evidence.talk import Told
from commission.records.book import Book, BookError
from tests.records.books import Workshop
from tests.support.fake_time import FakeClock

RUN = "bench-3/2031-03-14/1"
NOBODY = 65534
"""The user without rights, as Linux numbers it (from memory): the superuser may write anywhere."""
READER = """
import json, sys
from pathlib import Path
from commission.clock import SystemClock
from commission.records.book import Book
with Book(Path(sys.argv[1]), SystemClock(), reads_only=True) as book:
    print(json.dumps([row.sequence for row in book.rows()]))
"""
KILLED = """
import os, sys
from pathlib import Path
from commission.clock import SystemClock
from commission.evidence.talk import Told
from commission.records.book import Book
book = Book(Path(sys.argv[1]), SystemClock())
book.append("bench-3/2031-03-14/1", Told(heading="the last word"))
os._exit(9)
"""


def reader(place: Path) -> Book:
    """The book, opened to be read."""
    return Book(place, FakeClock(), reads_only=True)


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A closed book of three entries."""
    workshop = Workshop(tmp_path)
    workshop.begin(RUN)
    workshop.book.append(RUN, Told(heading="a word"))
    workshop.end(RUN)
    workshop.book.close()
    return tmp_path / "book.sqlite3"


def killed_in(place: Path) -> None:
    """A run that wrote one entry and was killed: the entry is in the log only."""
    subprocess.run([sys.executable, "-c", KILLED, str(place)], check=False, timeout=50)
    assert place.with_name(f"{place.name}-wal").stat().st_size > 0


def test_reading_leaves_the_file_as_it_is(place: Path) -> None:
    """Not a byte of the book or of the log a killed run left is changed, and everything in both is read."""
    killed_in(place)
    log = place.with_name(f"{place.name}-wal")
    before = place.read_bytes(), log.read_bytes(), place.stat().st_mtime_ns
    with reader(place) as book:
        found = [row.sequence for row in book.rows()]

    assert [1, 2, 3, 4] == found
    assert before == (place.read_bytes(), log.read_bytes(), place.stat().st_mtime_ns)


def test_who_reads_waits_for_no_writer(place: Path) -> None:
    """While another program holds the write lock the book is opened and read as it was."""
    writer = sqlite3.connect(place, isolation_level=None)
    writer.execute("BEGIN IMMEDIATE")
    with reader(place) as book:
        assert 3 == len(list(book.rows()))
    writer.execute("ROLLBACK")
    writer.close()


def test_who_reads_keeps_no_writer_waiting(place: Path) -> None:
    """In the middle of reading, another program writes at once."""
    with reader(place) as book:
        rows = book.rows()
        next(rows)
        with Book(place, FakeClock()) as other:
            other.append(RUN, Told(heading="one more"))
        assert [2, 3] == [row.sequence for row in rows][:2]
        assert 4 == len(list(book.rows()))


def test_who_reads_cannot_write(place: Path) -> None:
    """Appending is refused with the reason, and nothing is begun where there is no book."""
    with reader(place) as book, pytest.raises(BookError, match="opened to be read only"):
        book.append(RUN, Told(heading="no"))
    with pytest.raises(BookError):
        reader(place.with_name("none.sqlite3"))
    assert not place.with_name("none.sqlite3").exists()


def test_a_locked_book_is_said_to_be_locked(place: Path) -> None:
    """Where another program has it for itself alone, the advice is to wait for that, and not to free disk space."""
    with sqlite3.connect(place) as file:
        file.execute("PRAGMA journal_mode=DELETE")
    file.close()
    holder = sqlite3.connect(place, isolation_level=None)
    holder.execute("BEGIN EXCLUSIVE")
    with pytest.raises(BookError) as refused:
        Book(place, FakeClock(), reads_only=True, patience_s=0.1)
    holder.close()

    assert "(database is locked). Another program keeps it locked: wait until that is done" in str(refused.value)


@pytest.fixture
def shelf() -> Iterator[Path]:
    """A folder that every user may read."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


@pytest.mark.skipif(os.name == "nt", reason="folders are protected in another way there")
@pytest.mark.parametrize("killed", [False, True], ids=["closed", "left by a killed run"])
def test_a_write_protected_book_is_read(place: Path, shelf: Path, *, killed: bool) -> None:
    """On a medium that cannot be written everything is read, what only the log holds too, and nothing is added."""
    if killed:
        killed_in(place)
    for file in place.parent.glob(f"{place.name}*"):
        if file.is_file() and not file.name.endswith("-shm"):
            shutil.copyfile(file, shelf / file.name)
            (shelf / file.name).chmod(0o444)
    shelf.chmod(0o555)
    before = sorted(shelf.iterdir())
    user = NOBODY if os.geteuid() == 0 else None
    done = subprocess.run(
        [sys.executable, "-c", READER, str(shelf / place.name)],
        capture_output=True,
        text=True,
        check=False,
        timeout=50,
        user=user,
    )

    assert (0, "") == (done.returncode, done.stderr)
    assert list(range(1, 5 if killed else 4)) == json.loads(done.stdout)
    assert before == sorted(shelf.iterdir())
