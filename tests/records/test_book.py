"""The record book: append-only, chained, and whole after whatever happens to the process."""

import hashlib
import json
import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.conductor.keeping import fingerprint
from commission.evidence.codec import Unwritable
from commission.evidence.entry import About, Entry, Unreadable
from commission.evidence.findings.meeting import Repair
from commission.evidence.found import Established
from commission.evidence.measured import AckedMove, Moves, Trial
from commission.evidence.runs import PhaseAbandoned, RunResumed, RunStarted
from commission.evidence.talk import Told
from commission.evidence.wire import Listening, Result
from commission.files.kinds import PICTURE
from commission.files.output import OutputRefused, write_output
from commission.records.bench import kept_bench
from commission.records.book import PAGE, Book, BookError
from commission.records.chain import ORIGIN, Row, canonical, check_chain, link_row
from commission.records.history import Run, end_that_stands, newest_run, runs, tags
from commission.records.place import book_path
from commission.records.run_lock import RunLock
from commission.records.schema import entries
from commission.records.tables import open_engine
from commission.vocabulary import Outcome, Verdict
from tests.support.fake_time import FakeClock
from tests.support.made import begun, ended, found, made, on_record

RUN = "bench-3/2031-03-14/1"
STARTED = begun("a")
RESUMED = RunResumed(number="a", tag="a", purpose="install")


def told(text: str = "") -> Told:
    """A message."""
    return Told(heading=text)


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """A new book on a clock that stands at 9:26:53 UTC on 14 March 2031."""
    return Book(tmp_path / "book.sqlite3", FakeClock())


def begin(book: Book, number: str, tag: str = "bench-3") -> None:
    """Write the entry that begins a run."""
    book.append(number, begun(number, tag=tag))


def test_what_is_appended_is_read_back(book: Book) -> None:
    """An entry comes back as it was, with what it belongs to, its raw bytes and its moment."""
    entry, about = Result(command="M119", end="acknowledged", lines=("ok",)), About(sensor="filament", bench="north")
    written = book.append("r1", entry, about, b"\x00\xffok\n")
    (record,) = book.records()

    assert [written] == list(book.rows())
    assert (entry, about) == (record.entry, record.about)
    assert b"\x00\xffok\n" == record.raw
    assert "2031-03-14T09:26:53.000+00:00" == record.at


def test_the_digest_is_sha_256_over_canonical_json(book: Book) -> None:
    """The first digest can be worked out by anyone with the standard library (SHA-256: FIPS 180-4, by hashlib)."""
    written = book.append("r1", PhaseAbandoned(name="ä", why="b"))

    payload = '{"entry":{"kind":"phase_abandoned","name":"\\u00e4","why":"b"},"format":2}'
    fields = [1, "r1", "phase_abandoned", written.at, 0, payload, None, ORIGIN]
    text = json.dumps(fields, separators=(",", ":"))
    assert hashlib.sha256(text.encode()).hexdigest() == written.digest


def test_entries_form_a_chain(book: Book) -> None:
    """Each entry carries the digest of the one before it, and the whole is found whole."""
    first = book.append("r1", told("one"))
    second = book.append("r2", told("two"))

    assert ORIGIN == first.previous
    assert first.digest == second.previous
    assert [] == book.verify()


def test_entries_are_sought_by_run_and_kind(book: Book) -> None:
    """A run's entries, or those of some kinds, come in the order in which they were written."""
    for run, entry in (("r1", told()), ("r2", told()), ("r1", found(Repair)), ("r3", told())):
        book.append(run, entry)

    assert [1, 3] == [record.sequence for record in book.records(run="r1")]
    assert [1, 2, 4] == [record.sequence for record in book.records(Told)]
    assert [2, 4] == [record.sequence for record in book.records(Told, Established, runs={"r2", "r3"})]
    assert [1, 3] == [record.sequence for record in book.records(Established, Told, run="r1")]


@pytest.mark.parametrize("statement", ["UPDATE entries SET kind = 'x'", "DELETE FROM entries"])
def test_the_database_refuses_to_change_an_entry(book: Book, statement: str) -> None:
    """Nothing but appending is possible, by whatever program."""
    book.append("r1", told())
    with sqlite3.connect(book.path) as other, pytest.raises(sqlite3.DatabaseError, match="append-only"):
        other.execute(statement)
    other.close()


def test_durability_is_full(book: Book) -> None:
    """The book is opened with a write-ahead log and full synchronisation: 2 means FULL (SQLite documentation)."""
    with open_engine(book.path).connect() as connection:
        assert 2 == connection.exec_driver_sql("PRAGMA synchronous").scalar_one()
        assert "wal" == connection.exec_driver_sql("PRAGMA journal_mode").scalar_one()


def test_a_number_that_is_none_is_refused(book: Book) -> None:
    """Values that JSON cannot hold are an error, and nothing of them is kept."""
    with pytest.raises(ValueError, match="not JSON compliant"):
        book.append("r1", made(Moves, moves=(AckedMove(0.0, float("nan")),)))

    assert [] == list(book.rows())


@pytest.mark.parametrize("seconds", [-1.0, 1e9, float("nan"), "long"])
def test_what_nobody_could_read_back_is_refused(book: Book, seconds: Any) -> None:
    """An entry that is not what its type says is an error of this program, found before anything is written."""
    with pytest.raises(Unwritable, match="An entry of kind listening cannot be written"):
        book.append("r1", Listening(seconds=seconds))

    assert [] == list(book.rows())


def test_another_programs_database_is_left_alone(tmp_path: Path) -> None:
    """A file that is somebody else's database is refused with advice."""
    path = tmp_path / "theirs.sqlite3"
    with sqlite3.connect(path) as theirs:
        theirs.execute("CREATE TABLE things (name TEXT)")
    theirs.close()

    before = path.read_bytes()

    with pytest.raises(BookError, match=r"database of another program\. Name another file with --book"):
        Book(path, FakeClock())
    assert before == path.read_bytes()
    assert [path] == list(tmp_path.iterdir())


def test_an_empty_file_is_no_book(tmp_path: Path) -> None:
    """A file without a byte is refused with advice, and nothing is written into it or beside it."""
    path = tmp_path / "empty.sqlite3"
    path.touch()

    with pytest.raises(BookError, match=r"is an empty file, and no record book\. Name another file with --book"):
        Book(path, FakeClock())
    assert 0 == path.stat().st_size
    assert [path] == list(tmp_path.iterdir())


def test_a_new_book_has_its_name_only_when_it_is_whole(tmp_path: Path) -> None:
    """Nothing else is left beside it, and a book that is there is opened, not begun again."""
    with Book(tmp_path / "book.sqlite3", FakeClock()) as first:
        first.append("r1", told())
    with Book(tmp_path / "book.sqlite3", FakeClock()) as again:
        assert 1 == len(list(again.rows()))

    assert ["book.sqlite3", "book.sqlite3.bench"] == sorted(path.name for path in tmp_path.iterdir())


def test_a_book_is_begun_in_folders_that_are_not_there_yet(tmp_path: Path) -> None:
    """The first run on a new computer finds no data folder of this user."""
    path = tmp_path / "share" / "commission" / "book.sqlite3"
    with Book(path, FakeClock()) as book:
        book.append("r1", told())
    with Book(path, FakeClock()) as again:
        assert 1 == len(list(again.rows()))


READER = """
import sys
from pathlib import Path
from commission.clock import SystemClock
from commission.records.book import Book
with Book(Path(sys.argv[1]), SystemClock()) as book:
    print(len(list(book.rows())))
"""


def seen_elsewhere(book: Book) -> int:
    """How many entries another process finds, which then leaves the book."""
    command = [sys.executable, "-c", READER, str(book.path)]
    return int(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


def open_again(book: Book) -> None:
    """The same book a second time in this process, and left."""
    Book(book.path, FakeClock()).close()


def name_as_output(book: Book) -> None:
    """The book as an output, which is refused."""
    with pytest.raises(OutputRefused, match="record book"):
        write_output(book.path, b"anything", PICTURE)


def name_as_firmware(book: Book) -> None:
    """The book as the file of a firmware."""
    assert fingerprint(str(book.path)) is None


@pytest.mark.parametrize("touch", [open_again, name_as_output, name_as_firmware], ids=lambda touch: touch.__name__)
def test_nothing_is_lost_when_the_open_book_is_touched_again(book: Book, touch: Callable[[Book], None]) -> None:
    """What is written after it is there for everybody.

    On POSIX systems a process loses all its locks on a file when it closes any opening of it; another process would
    then take the book for unused, tidy away its log, and all that is written afterwards would be lost.
    """
    book.append("r1", told())
    touch(book)
    before = seen_elsewhere(book)
    book.append("r1", told())

    assert (1, 2) == (before, seen_elsewhere(book))


def test_who_reads_and_who_writes_do_not_wait_for_each_other(book: Book) -> None:
    """While another process is in the middle of writing, the book is read as it was before."""
    book.append("r1", told())
    writing = sqlite3.connect(book.path, isolation_level=None)
    writing.execute("BEGIN IMMEDIATE")
    try:
        assert 1 == len(list(book.rows()))
        assert [] == Book(book.path, FakeClock()).verify()
    finally:
        writing.close()


def test_a_newer_book_is_refused(book: Book) -> None:
    """A format this program does not know is said to be newer, not read half."""
    with sqlite3.connect(book.path) as other:
        other.execute("PRAGMA user_version = 99")
    other.close()

    with pytest.raises(BookError, match=r"newer version of this program \(book format 99, this one knows 3\)"):
        Book(book.path, FakeClock())


@pytest.mark.parametrize("reads_only", [True, False], ids=["read", "written"])
@pytest.mark.parametrize(
    "held",
    [b"x", b"\0", b"SQLite format 3", b"SQLite format 2\0" * 40, b"change the nozzle\n" * 100, b"\0" * 8192],
    ids=["one letter", "one zero", "half a heading", "an older format", "a text", "zeros"],
)
def test_what_is_no_database_is_refused(tmp_path: Path, held: bytes, *, reads_only: bool) -> None:
    """A file named as the book ends in a sentence that says what to do, and stays as it was, with nothing beside it."""
    path = tmp_path / "notes.txt"
    path.write_bytes(held)

    with pytest.raises(BookError, match=r"is no record book, and was left as it is\. Name another file with --book"):
        Book(path, FakeClock(), reads_only=reads_only)
    assert held == path.read_bytes()
    assert [path] == list(tmp_path.iterdir())


@pytest.mark.parametrize("kind", ["folder", "pipe", "device"])
def test_a_book_is_a_file(tmp_path: Path, kind: str) -> None:
    """A folder, a pipe or a device is refused before it is opened: opening a pipe would wait for ever."""
    path = tmp_path / "book.sqlite3"
    if kind == "folder":
        path.mkdir()
    elif kind == "pipe":
        os.mkfifo(path)
    else:
        path = Path("/dev/null")

    with pytest.raises(BookError, match=r"is no file, and no record book\. Name another file with --book"):
        Book(path, FakeClock())


@pytest.mark.parametrize("field", ["run", "kind", "at", "elapsed_us", "payload", "raw", "previous", "digest"])
def test_an_altered_field_is_found(book: Book, field: str) -> None:
    """Whatever field of whichever entry is changed, the check names the entry."""
    for text in ("one", "two", "three"):
        book.append("r1", told(text), raw=b"raw")
    kept = list(book.rows())
    changed = {"elapsed_us": 7, "raw": b"row"}.get(field, "0" * 64)
    altered = [kept[0], Row(**{**vars(kept[1]), field: changed}), kept[2]]

    assert 2 in {fault.sequence for fault in check_chain(altered)} | {
        fault.sequence - 1 for fault in check_chain(altered) if field == "digest"
    }


@settings(deadline=None, max_examples=50)
@given(st.integers(1, 6), st.data())
def test_a_missing_or_moved_entry_is_found(count: int, data: st.DataObject) -> None:
    """Removing any entry but the last, or exchanging any two, breaks the chain."""
    chain: list[Row] = []
    for number in range(count + 1):
        previous, payload = chain[-1] if chain else None, canonical({"n": number})
        chain.append(link_row(previous, run="r", kind="k", at="t", elapsed_us=0, payload=payload))
    gone = data.draw(st.integers(0, count - 1))
    moved = chain.copy()
    moved[gone], moved[gone + 1] = moved[gone + 1], moved[gone]

    assert [] == check_chain(chain)
    assert check_chain(chain[:gone] + chain[gone + 1 :])
    assert check_chain(moved)


def test_runs_are_told_by_their_entries(book: Book) -> None:
    """A run that came to its end has its outcome and verdict; one that did not is broken off and not judged."""
    begin(book, "a")
    book.append("a", ended())
    begin(book, "b")

    at = "2031-03-14T09:26:53.000+00:00"
    assert [
        Run("a", "bench-3", "install", at, at, Outcome.COMPLETE, Verdict.PASS),
        Run("b", "bench-3", "install", at, "", Outcome.BROKEN_OFF, Verdict.NOT_JUDGED),
    ] == runs(book, "bench-3")


def test_numbers_are_never_given_twice(book: Book) -> None:
    """The number is tag, day, and a count with the mark of the bench; it stands in the first entry.

    Another tag counts for itself.
    """
    day = date(2031, 3, 14)
    given = [book.start_run(tag, day, begun) for tag in ("bench-3", "bench-3", "bench-1")]

    bench = kept_bench(book.path)
    assert bench is not None
    expected = [f"{number}-{bench.mark}" for number in ("bench-3/2031-03-14/1", "bench-3/2031-03-14/2")]
    expected += [f"bench-1/2031-03-14/1-{bench.mark}"]
    assert expected == [row.run for row in given]
    assert expected == [record.entry.number for record in book.records(RunStarted)]
    assert ["bench-1", "bench-3"] == tags(book)


def test_the_newest_run_is_known(book: Book) -> None:
    """It is the one that began last, whatever became of it."""
    begin(book, "a")
    begin(book, "b")
    newest = newest_run(book, "bench-3")

    assert newest is not None
    assert "b" == newest.number


def test_a_run_has_one_end(book: Book) -> None:
    """A second end is refused by the book, and the first one stands; taken up again it may end again, once."""
    begin(book, "a")
    book.append("a", ended())

    with pytest.raises(BookError, match="The run a has come to its end already: what it came to stands"):
        book.append("a", ended("not judged", "broken off"))
    assert 2 == len(list(book.rows()))
    assert Verdict.PASS is runs(book)[0].verdict
    book.append("a", RESUMED)
    assert Outcome.BROKEN_OFF is runs(book)[0].outcome
    assert 4 == book.append("a", ended("not judged", "stopped by the operator")).sequence
    assert Outcome.STOPPED is runs(book)[0].outcome


@pytest.mark.parametrize(
    ("marks", "stands"),
    [
        ([STARTED], None),
        ([STARTED, ended()], 1),
        ([STARTED, ended(), ended()], 1),
        ([STARTED, ended(), RESUMED], None),
        ([STARTED, ended(), ended(), RESUMED, ended(), ended()], 4),
    ],
)
def test_the_first_end_since_the_last_beginning_stands(marks: list[Entry], stands: int | None) -> None:
    """Older books hold second ends, written when the reports could not be."""
    end = end_that_stands(on_record(mark, place) for place, mark in enumerate(marks))

    assert stands == (None if end is None else end.sequence)


def test_the_book_lies_where_it_was_said_to_lie(tmp_path: Path) -> None:
    """The command line comes before the environment, the environment before the user's data folder."""
    named, variable = tmp_path / "named", {"COMMISSION_BOOK": str(tmp_path / "variable")}

    assert named == book_path(named, variable)
    assert tmp_path / "variable" == book_path(None, variable)
    assert ("commission", "record-book.sqlite3") == book_path(None, {}).parts[-2:]


WRITER = """
import sys
from pathlib import Path
from commission.clock import SystemClock
from commission.evidence.talk import Told
from commission.records.book import Book
book = Book(Path(sys.argv[1]), SystemClock())
for number in range(100000):
    book.append("r1", Told(heading=str(number)))
    print(number, flush=True)
"""


@pytest.mark.skipif(os.name == "nt", reason="kill -9 is a thing of POSIX systems")
@pytest.mark.parametrize("after", [1, 7, 40])
def test_a_killed_process_leaves_a_whole_book(tmp_path: Path, after: int) -> None:
    """After kill -9 every acknowledged entry is there, and the chain is whole."""
    path = tmp_path / "book.sqlite3"
    with subprocess.Popen([sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True) as writer:
        assert writer.stdout is not None
        acknowledged = [writer.stdout.readline() for _ in range(after)]
        writer.send_signal(signal.SIGKILL)

    with Book(path, FakeClock()) as book:
        assert [] == book.verify()
        kept = [int(record.entry.heading) for record in book.records(Told)]
    assert [int(line) for line in acknowledged] == kept[:after]


def test_the_table_holds_what_an_entry_holds() -> None:
    """Column and field names are the same, so that an export loses nothing."""
    row = link_row(None, run=RUN, kind="told", at="t", elapsed_us=0, payload="{}")
    assert set(row.fields) == {column.name for column in entries.columns}


def test_who_stops_reading_half_way_holds_nothing_up(book: Book) -> None:
    """A reader that is not read to its end keeps no lock: the next entry is written at once."""
    for number in range(3):
        book.append("r1", told(str(number)))
    reader = book.rows()
    next(reader)

    assert 4 == book.append("r1", told()).sequence
    assert [2, 3] == [entry.sequence for entry in reader]


def test_a_long_book_is_read_whole(book: Book) -> None:
    """Entries come in order and without gaps over every page."""
    for number in range(PAGE + 3):
        book.append("r1", told(str(number)))

    assert list(range(1, PAGE + 4)) == [row.sequence for row in book.rows()]


def test_an_altered_run_is_still_told(book: Book) -> None:
    """A beginning or an end that can no longer be read leaves a run without verdict, not an error."""
    at = "2031-03-14T09:26:53.000+00:00"
    first = link_row(None, run=RUN, kind="run_started", at=at, elapsed_us=0, payload='{"nothing":"known"}')
    end = link_row(first, run=RUN, kind="run_ended", at=at, elapsed_us=0, payload='{"outcome":7}')
    book.receive([first, end])

    (told,) = runs(book)
    assert ("bench-3", Outcome.BROKEN_OFF, Verdict.NOT_JUDGED) == (told.tag, told.outcome, told.verdict)
    assert (at, 2) == (told.ended_at, told.ended)
    assert told.unreadable.startswith("entry 1: Object missing required field `number`")


def test_an_entry_that_cannot_be_read_is_an_error_that_names_it(book: Book) -> None:
    """Who needs it is told which it is and why; who must go on gets it as what it is; other kinds do not matter."""
    before = book.append("r1", told())
    newer = link_row(before, run="r1", kind="trial", at="", elapsed_us=0, payload='{"format":99,"entry":{}}')
    book.receive([before, newer])

    with pytest.raises(BookError, match=r"Entry 2 \(trial\) of .* cannot be read: it was written in form 99; .*verify"):
        list(book.records(Trial))
    assert [Unreadable] == [type(record.entry) for record in book.every_record(Trial)]
    assert 1 == len(list(book.records(Told)))


@pytest.mark.skipif(os.name == "nt", reason="files are protected in another way there")
@pytest.mark.parametrize("mask", [0o000, 0o022, 0o077])
def test_a_book_is_for_its_owner_alone(tmp_path: Path, mask: int) -> None:
    """Whatever the user's mask allows: the book, its side files and its locks can be read by nobody else."""
    before = os.umask(mask)
    try:
        with Book(tmp_path / "book.sqlite3", FakeClock()) as book, RunLock(book.path, "bench-3"):
            book.append("r1", Told(heading="a word"))
            made = {path.name: path.stat().st_mode & 0o077 for path in tmp_path.rglob("*")}
    finally:
        os.umask(before)

    assert {"book.sqlite3", "book.sqlite3-wal", "book.sqlite3.runs"} <= made.keys()
    assert {0} == set(made.values())
