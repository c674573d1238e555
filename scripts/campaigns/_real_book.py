"""Makes a record book that is a real one: runs of the tool itself, one of them on the simulated printer."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from scripts.campaigns._tool import Ended, Tool
from tests.support.fake_process import running_printer

YES = 'format = 1\n\n[[answer]]\nrequest = "*"\nanswer = "yes"\n'
NOT_A_PASS = 4
CAPTURE = (
    "echo:; Steps per unit:\necho:  M92 X80.00 Y80.00 Z400.00 E97.50\necho:; Home offset:\n"
    "echo:  M206 X0.00 Y0.00 Z0.00\necho:; Acceleration (units/s2):\necho:  M204 P900.00 R1200.00 T1000.00\n"
)
NOTES = (("remark", "belts looked at"), ("nuisance-trip", "paused with filament in"), ("new-filament", "a matt one"))


def make_book(folder: Path, tool: Tool) -> Path:
    """A sound book in the folder, all of it in one file.

    Raises:
        RuntimeError: a command that makes it did not end well.
    """
    (folder / "yes.toml").write_text(YES)
    (folder / "capture.txt").write_text(CAPTURE)
    common = ("--book", "book.sqlite3")
    with running_printer("sound", "--tcp", "0", "--unpaced", "--speed-factor", "20") as printer:
        words = ("backup", "bench-3", "--port", printer.link, "--operator", "yes.toml", "--by", "R. Okafor")
        _well(tool.run(*words, "--reports", "reports", *common, folder=folder))
    kept = ("backup", "bench-5", "--from", "capture.txt", "--by", "R. Okafor")
    _well(tool.run(*kept, "--reports", "reports", *common, folder=folder), NOT_A_PASS)  # a capture of a few lines
    for what, text in NOTES:
        _well(tool.run("note", "bench-3", text, "--what", what, "--by", "R. Okafor", *common, folder=folder))
    book = folder / "book.sqlite3"
    with closing(sqlite3.connect(book)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return book


def _well(ended: Ended, *also: int) -> None:
    if ended.code not in (0, *also):
        raise RuntimeError(f"The book could not be made: {ended.told}")
