"""An unattended check after something was found wrong, as a timer runs it: a real process, a simulated printer."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from commission.clock import SystemClock
from commission.evidence.talk import Punched
from commission.records.book import Book
from commission.vocabulary import PunchClass
from tests.cli.bench import Folder, Said
from tests.support.fake_process import FakeProcess, running_printer
from tests.support.made import begun, ended

UNATTENDED = ("check", "bench-3", "--unattended", "--steady", "1")


@pytest.fixture(name="printer", scope="module")
def _printer() -> Iterator[FakeProcess]:
    """A sound printer."""
    with running_printer("sound", "--tcp", "0", "--unpaced") as printer:
        yield printer


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Folder:
    """An empty folder."""
    return Folder(tmp_path)


def checked(folder: Folder, printer: FakeProcess) -> Said:
    """The unattended check."""
    return folder.call(*UNATTENDED, "--port", printer.link)


def test_an_unattended_check_clears_no_failure(folder: Folder, printer: FakeProcess) -> None:
    """After a failed check with hands it is no pass and ends with 1, and the due list goes on saying what failed."""
    folder.on_record("install: pass", "brief check: fail", consent=True)
    said = checked(folder, printer)
    due = folder.call("book", "due")

    assert 1 == said.code, said
    assert "Verdict: not judged." in said.output
    assert "What earlier runs found wrong stands; only a completed check with hands clears it:" in said.output
    assert "The brief check of " in said.output
    assert "Found wrong by earlier runs and not cleared since: 1." in said.output
    assert (1, True) == (due.code, "its last brief check (" in due.output)


def test_an_open_item_of_class_a_is_no_pass(folder: Folder, printer: FakeProcess) -> None:
    """An item that a stopped run left open keeps an unattended check from passing."""
    folder.on_record("install: pass", consent=True)
    with Book(folder.book, SystemClock()) as book:
        run = "bench-3/2031-03-14/2"
        book.append(run, begun(run, "full check"))
        book.append(run, Punched(grade=PunchClass.UNSAFE, text="The sensor is unplugged.", cure="Plug it in."))
        book.append(run, ended("not judged", "stopped by the operator"))
    said = checked(folder, printer)

    assert 1 == said.code, said
    assert "Verdict: not judged." in said.output
    assert "class A: The sensor is unplugged." in said.output


def test_once_it_is_cleared_an_unattended_check_passes(folder: Folder, printer: FakeProcess) -> None:
    """A brief check that passed after the failed one has cleared it."""
    folder.on_record("install: pass", "brief check: fail", "brief check: pass", consent=True)
    said = checked(folder, printer)

    assert (0, True) == (said.code, "Verdict: pass." in said.output), said
