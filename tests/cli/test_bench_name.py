"""The name of the computer stands with every entry that a command writes."""

import platform
from pathlib import Path

import pytest

from commission.cli.bench_name import VARIABLE, bench_name
from commission.clock import SystemClock
from commission.evidence.runs import RULES, Note, RunEnded
from commission.records.book import Book
from tests.cli.bench import Folder


@pytest.mark.parametrize(
    ("named", "environment", "name"),
    [
        ("north", {VARIABLE: "south"}, "north"),
        ("", {VARIABLE: " south "}, "south"),
        ("  ", {VARIABLE: "south"}, "south"),
        ("", {}, platform.node()),
        ("", {VARIABLE: ""}, platform.node()),
    ],
)
def test_a_computer_is_called_as_it_was_named(named: str, environment: dict[str, str], name: str) -> None:
    """The command line comes before the environment, the environment before the host name."""
    assert name == bench_name(named, environment)


def test_a_run_and_a_note_carry_it(tmp_path: Path) -> None:
    """Every entry of a run that was told its bench, and a note with the name of the computer; the end has its rules."""
    folder = Folder(tmp_path)
    done = folder.call(*folder.backup_words(), "--by", "R. Okafor", "--bench", "north", "--reports", str(tmp_path))
    noted = folder.call("note", "bench-3", "dusty")

    assert (0, 0) == (done.code, noted.code), done.error + noted.error
    with Book(folder.book, SystemClock()) as book:
        (note,) = book.records(Note)
        run = [record for record in book.records() if record.run != note.run]
        (end,) = book.records(RunEnded)
    assert {"north"} == {record.about.bench for record in run}
    assert platform.node() == note.about.bench
    assert RULES == end.entry.rules
