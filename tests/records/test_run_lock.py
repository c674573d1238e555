"""One run a printer: the lock that says so, and that it is gone with the process, however that ends."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from commission.records.continuation import broken_off
from commission.records.history import runs
from commission.records.run_lock import RunLock, RunUnderWay, lock_file, run_under_way
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


def test_a_second_run_on_the_printer_is_refused(workshop: Workshop) -> None:
    """The sentence names the printer and the run, and says what to do."""
    book = workshop.book.path
    with lock_held(book, "bench-3", RUN), pytest.raises(RunUnderWay) as refused, RunLock(book, "bench-3"):
        pass

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
