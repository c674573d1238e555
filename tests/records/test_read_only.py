"""Reading a book: nothing is written into it, nobody waits for it, and a medium that cannot be written will do."""

import json
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import ExitStack, suppress
from pathlib import Path

import pytest
from sqlalchemy import Engine, text
from sqlalchemy.exc import DatabaseError, OperationalError

from commission.evidence.talk import Told
from commission.records.book import Book, BookError
from commission.records.read_only import _is_read_only_medium, _on_a_read_only_medium, reading_engine
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


def rows_by(engine: Engine) -> list[int]:
    """The numbers of the entries that it reads."""
    with engine.connect() as connection:
        return list(connection.scalars(text("SELECT sequence FROM entries ORDER BY sequence")))


@pytest.mark.parametrize("log", [None, b""], ids=["no log", "an empty log"])
def test_a_book_without_a_log_is_read_as_a_file(place: Path, log: bytes | None) -> None:
    """On a medium that cannot be written nothing is asked for beside it; what is no book is refused at once."""
    if log is not None:
        place.with_name(f"{place.name}-wal").write_bytes(log)
    before = sorted(place.parent.iterdir())
    with ExitStack() as kept:
        engine = _on_a_read_only_medium(place, kept, 1.0)
        assert [1, 2, 3] == rows_by(engine)
        assert before == sorted(place.parent.iterdir())
        engine.dispose()
    place.write_bytes(place.read_bytes()[:100] + bytes(5000))
    with ExitStack() as kept, pytest.raises(DatabaseError):
        _on_a_read_only_medium(place, kept, 1.0)


def test_a_log_with_entries_is_read_in_a_copy(place: Path, tmp_path: Path) -> None:
    """Everything in both is read, the files stay as they are, and the copy goes with whoever read it."""
    shelf = tmp_path / "shelf"
    shelf.mkdir()
    with Book(place, FakeClock()) as book:
        book.append(RUN, Told(heading="one more"))
        for name in (place.name, f"{place.name}-wal"):
            shutil.copyfile(place.with_name(name), shelf / name)
    before = {file.name: file.read_bytes() for file in shelf.iterdir()}
    with ExitStack() as kept:
        engine = _on_a_read_only_medium(shelf / place.name, kept, 1.0)
        assert [1, 2, 3, 4] == rows_by(engine)
        with engine.connect() as connection:
            lies = Path(connection.exec_driver_sql("PRAGMA database_list").one()[2])
        engine.dispose()

    assert shelf != lies.parent
    assert not lies.parent.exists()
    assert before == {file.name: file.read_bytes() for file in shelf.iterdir()}


@pytest.mark.parametrize(
    ("code", "is_one"),
    [
        (sqlite3.SQLITE_CANTOPEN, True),
        (sqlite3.SQLITE_CANTOPEN_ISDIR, True),
        (sqlite3.SQLITE_READONLY, True),
        (sqlite3.SQLITE_READONLY_CANTINIT, True),
        (sqlite3.SQLITE_BUSY, False),
        (sqlite3.SQLITE_BUSY_SNAPSHOT, False),
        (sqlite3.SQLITE_ERROR, False),
    ],
)
def test_a_medium_that_cannot_be_written_is_known(code: int, *, is_one: bool) -> None:
    """By the code of the error, with or without what it says more exactly (SQLite, "Result and Error Codes")."""
    error = sqlite3.OperationalError("told")
    error.sqlite_errorcode = code

    assert is_one is _is_read_only_medium(OperationalError("", None, error))


def test_a_reader_is_asked_from_any_thread(place: Path) -> None:
    """What one thread has opened another one reads by; nothing of the book is open when it is closed."""
    found: list[int] = []
    with ExitStack() as kept:
        engine = reading_engine(place, kept, 1.0)
        other = threading.Thread(target=lambda: found.extend(rows_by(engine)))
        other.start()
        other.join()
        open_meanwhile = [file for file in open_files() if file.startswith(str(place.resolve()))]

    assert [1, 2, 3] == found
    assert open_meanwhile or not open_files()
    assert [] == [file for file in open_files() if file.startswith(str(place.resolve()))]


def open_files() -> list[str]:
    """What this process has open by the system's own list; nothing where there is no such list."""
    told = Path("/proc/self/fd")
    found = []
    for each in told.iterdir() if told.exists() else ():
        with suppress(FileNotFoundError):  # the list itself, and what others close meanwhile
            found.append(str(each.readlink()))
    return found
