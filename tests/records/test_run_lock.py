"""One run a printer: the lock that says so, and that it is gone with the process, however that ends."""

import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from commission.records.continuation import broken_off
from commission.records.history import runs
from commission.records.run_lock import RunLock, RunUnderWay, _locked, lock_file, run_under_way
from commission.records.tables import BookError
from commission.vocabulary import Outcome
from tests.records.books import Workshop
from tests.support.lock_holder import lock_held

RUN = "bench-3/2031-03-14/1"


@pytest.fixture(name="workshop")
def _workshop(tmp_path: Path) -> Workshop:
    """A book in which a check of bench-3 has begun, and one phase of it is done."""
    workshop = Workshop(tmp_path)
    workshop.begin(RUN, "full check")
    workshop.phase(RUN, "proof_test")
    return workshop


def files_open() -> int:
    """How many files this process has open, where the system tells it."""
    told = Path("/proc/self/fd")
    return len(list(told.iterdir())) if told.exists() else 0


def test_a_second_run_on_the_printer_is_refused(workshop: Workshop) -> None:
    """The sentence names the printer and the run, and says what to do."""
    book = workshop.book.path
    with lock_held(book, "bench-3", RUN):
        before = files_open()
        with pytest.raises(RunUnderWay) as refused, RunLock(book, "bench-3"):
            pass
        assert before == files_open()

    said = (
        "A run on bench-3 is under way in another window or by a timer (bench-3/2031-03-14/1). Wait until it has ended"
    )
    assert str(refused.value).startswith(said)


def test_another_printers_run_goes_on(workshop: Workshop) -> None:
    """Two printers are worked on at the same time."""
    with lock_held(workshop.book.path, "bench-3", RUN), RunLock(workshop.book.path, "bench-4"):
        assert RUN == run_under_way(workshop.book.path, "bench-3")


def test_a_run_whose_lock_is_held_is_under_way(workshop: Workshop) -> None:
    """It is not broken off in any list, and nobody can take it up."""
    with lock_held(workshop.book.path, "bench-3", RUN):
        assert [Outcome.UNDER_WAY] == [run.outcome for run in runs(workshop.book)]
        assert broken_off(workshop.book, "bench-3", "full check") is None

    assert [Outcome.BROKEN_OFF] == [run.outcome for run in runs(workshop.book)]


@pytest.mark.parametrize("number", ["", "bench-3/2031-03-15/1"])
def test_only_the_run_that_holds_it_is_under_way(workshop: Workshop, number: str) -> None:
    """An older run without an end stays broken off while the next one is prepared or has begun."""
    with lock_held(workshop.book.path, "bench-3", number):
        assert [Outcome.BROKEN_OFF] == [run.outcome for run in runs(workshop.book)]


@pytest.mark.skipif(os.name == "nt", reason="kill -9 is a thing of POSIX systems")
@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGTERM, signal.SIGSEGV])
def test_the_lock_is_gone_with_the_process(workshop: Workshop, how: signal.Signals) -> None:
    """However the process ends, the run is broken off at once and can be taken up."""
    with lock_held(workshop.book.path, "bench-3", RUN) as process:
        process.send_signal(how)
        process.wait(10)

        assert "" == run_under_way(workshop.book.path, "bench-3")
        assert broken_off(workshop.book, "bench-3", "full check") is not None
        with RunLock(workshop.book.path, "bench-3"):
            pass


def test_a_child_of_the_process_does_not_keep_the_lock(workshop: Workshop) -> None:
    """Programs that a run has started, such as a script's, may outlive it."""
    with RunLock(workshop.book.path, "bench-3"):
        child = subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE, close_fds=False)
    try:
        assert "" == run_under_way(workshop.book.path, "bench-3")
    finally:
        child.kill()
        child.communicate()


@pytest.mark.skipif(os.name == "nt", reason="symbolic links need a privilege there")
def test_the_lock_is_the_same_by_every_name_of_the_book(workshop: Workshop, tmp_path: Path) -> None:
    """A symbolic link to the book leads to the lock beside the book itself."""
    link = tmp_path / "elsewhere" / "link.sqlite3"
    link.parent.mkdir()
    link.symlink_to(workshop.book.path)

    with RunLock(link, "bench-3") as lock:
        lock.carry(RUN)
        assert RUN == run_under_way(workshop.book.path, "bench-3")


def test_tags_that_look_alike_have_locks_of_their_own(tmp_path: Path) -> None:
    """What no file name can hold is replaced, and two tags never share a lock for it."""
    names = {
        lock_file(tmp_path / "book", tag).name for tag in ("bench 3", "bench/3", "bench-3", "BENCH-3", "../bench-3")
    }

    assert 5 == len(names)
    assert all("/" not in name and not name.startswith(".") for name in names)


def test_looking_makes_no_lock(workshop: Workshop, tmp_path: Path) -> None:
    """A list that is only read leaves no files behind."""
    runs(workshop.book)

    assert not lock_file(workshop.book.path, "bench-3").exists()


def test_a_lock_is_had_before_the_book(tmp_path: Path) -> None:
    """The first run on a new computer finds no folder yet; a second printer's lock lies beside the first."""
    book = tmp_path / "share" / "book.sqlite3"
    with RunLock(book, "bench-3"), RunLock(book, "bench-4"):
        locks = sorted(book.with_name("book.sqlite3.runs").iterdir())
        modes = {path.stat().st_mode & 0o777 for path in locks}

    assert 2 == len(locks)
    assert ({0o600}, 0o700) == (modes, locks[0].parent.stat().st_mode & 0o777)


def test_a_lock_says_what_it_carries_now(tmp_path: Path) -> None:
    """Nothing until the run has its number, whatever the run before it was called; nothing once it is given back."""
    book, said = tmp_path / "book.sqlite3", []
    lock, before = RunLock(book, "bench-3"), files_open()
    for number in (RUN, "b/1"):
        with lock:
            said.append(run_under_way(book, "bench-3"))
            lock.carry(number)
            said.append(run_under_way(book, "bench-3"))
        said.append(run_under_way(book, "bench-3"))

    assert ["", RUN, "", "", "b/1", ""] == said
    assert before == files_open()
    with pytest.raises(RuntimeError, match="The lock is not held"):
        lock.carry(RUN)


@pytest.mark.skipif(os.name == "nt", reason="locks are of another kind there")
def test_who_only_looks_keeps_nobody_out(tmp_path: Path) -> None:
    """A look at the lock is no run, and a run that begins in that instant waits for its end."""
    import fcntl

    book = tmp_path / "book.sqlite3"
    with RunLock(book, "bench-3") as lock:
        lock.carry(RUN)
    look = os.open(lock_file(book, "bench-3"), os.O_RDONLY)
    fcntl.flock(look, fcntl.LOCK_SH)
    assert "" == run_under_way(book, "bench-3")
    ends = threading.Timer(0.05, os.close, (look,))
    ends.start()
    with RunLock(book, "bench-3") as lock:
        lock.carry(RUN)
        assert RUN == run_under_way(book, "bench-3")
    ends.join()


def test_a_place_without_locks_is_said(tmp_path: Path) -> None:
    """Where a file lies in place of the folder of locks, and where the system gives none for a file."""
    book = tmp_path / "book.sqlite3"
    book.with_name("book.sqlite3.runs").touch()
    with pytest.raises(BookError, match="The lock of bench-3 cannot be opened beside the record book"):
        RunLock(book, "bench-3").__enter__()
    gone = os.open(book.with_name("book.sqlite3.runs"), os.O_RDONLY)
    os.close(gone)
    with pytest.raises(BookError, match="gives no locks"):
        _locked(gone, book)


def test_a_long_tag_has_a_short_name(tmp_path: Path) -> None:
    """Forty signs of it, and what tells it from other tags: any file system takes that."""
    name = lock_file(tmp_path / "book", "bench-" + 100 * "x").name

    assert f"bench-{34 * 'x'}-" == name[:41]
    assert len("-12345678.lock") == len(name) - 40
