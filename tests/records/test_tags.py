"""The tags of a book, read at a glance for a key press."""

import sqlite3
from pathlib import Path

import pytest

from commission.records.history import tags
from commission.records.notes import REMARK, add_note
from commission.records.tags import tags_at_a_glance
from tests.records.books import Workshop


def test_a_glance_sees_every_tag_once(tmp_path: Path) -> None:
    """Each as often as it has runs, in alphabetical order, and the same as the records themselves say."""
    workshop = Workshop(tmp_path)
    for number in ("bench-3/2031-03-14/1", "rack/2/2031-03-14/1", "bench-3/2031-03-14/2", "bench-1/2031-03-15/1"):
        workshop.begin(number, tag=number.rsplit("/", 2)[0])

    assert ["bench-1", "bench-3", "rack/2"] == tags_at_a_glance(tmp_path / "book.sqlite3") == tags(workshop.book)


def test_a_book_that_is_not_there_is_not_made(tmp_path: Path) -> None:
    """Whoever presses a key has asked for no new file."""
    with pytest.raises(sqlite3.Error):
        tags_at_a_glance(tmp_path / "none.sqlite3")
    assert [] == list(tmp_path.iterdir())


def test_a_glance_sees_no_printer_that_has_notes_alone(tmp_path: Path) -> None:
    """No run of it is on record, and the lists do not have it either."""
    workshop = Workshop(tmp_path)
    workshop.begin("bench-3/2031-03-14/1")
    add_note(workshop.book, "bench-4", REMARK, "dusty")

    assert ["bench-3"] == tags_at_a_glance(tmp_path / "book.sqlite3") == tags(workshop.book)
