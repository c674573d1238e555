"""A book's file as a holder of chains: it is let go of afterwards, and refused where it is none."""

import sqlite3
from pathlib import Path

import pytest

from commission.evidence.talk import Told
from commission.files.book_file import is_open_book
from commission.records.carrying import End as CarriedEnd
from commission.records.held import HeldBook
from commission.records.tables import BookError
from tests.records.memory import chain_of

TOLD = Told(heading="a word")
STRETCH = 500
"""So many entries are handed on at a time."""
ROWS = chain_of(*[("r1", TOLD)] * (STRETCH + 1), from_day=0)
OTHER = chain_of(("r2", TOLD), ("r2", TOLD), ("r2", TOLD))
STRANGE = "f" * 64


def test_a_chain_is_handed_on_in_stretches(tmp_path: Path) -> None:
    """Whole, in order, from behind any entry; a chain that is not there has nothing."""
    origin, other = ROWS[0].digest, OTHER[0].digest
    with HeldBook(tmp_path / "book.sqlite3") as held:
        assert ({}, None, []) == (held.ends(), held.digest_of(origin, 1), list(held.behind(origin, 0)))
        taken = [held.take(origin, ROWS[:STRETCH]), held.take(other, OTHER), held.take(origin, ROWS[7:])]

        assert [STRETCH, 3, 1] == taken
        ends = {origin: CarriedEnd(len(ROWS), ROWS[-1].digest), other: CarriedEnd(3, OTHER[-1].digest)}
        assert ends == held.ends()
        for behind, lengths in ((0, [STRETCH, 1]), (1, [STRETCH]), (2, [STRETCH - 1]), (len(ROWS), [])):
            stretches = list(held.behind(origin, behind))
            assert lengths == [len(stretch) for stretch in stretches]
            assert ROWS[behind:] == [row for stretch in stretches for row in stretch]
        assert [OTHER[1:]] == list(held.behind(other, 1))
        assert [] == list(held.behind(STRANGE, 0))
        digests = [held.digest_of(*asked) for asked in ((origin, 2), (other, 3), (other, 4), (STRANGE, 1))]
        assert [ROWS[1].digest, OTHER[2].digest, None, None] == digests


def test_a_held_book_is_let_go_of(tmp_path: Path) -> None:
    """While it is held the process knows that it has it open; then no file of the database lies beside it."""
    place = tmp_path / "book.sqlite3"
    with HeldBook(place) as held:
        held.take(OTHER[0].digest, OTHER)
        assert is_open_book(place)
        assert place.with_name("book.sqlite3-wal").exists()

    assert not is_open_book(place)
    assert [place] == list(tmp_path.iterdir())


def test_what_is_no_book_is_not_held(tmp_path: Path) -> None:
    """Another file, a newer book, and a folder that cannot be: each is refused with what to do, and let go of."""
    text, newer = tmp_path / "notes.txt", tmp_path / "newer.sqlite3"
    text.write_text("change the nozzle\n" * 100)
    with HeldBook(newer):
        pass
    with sqlite3.connect(newer) as file:
        file.execute("PRAGMA user_version = 99")
    file.close()
    refused = {
        text: "is no record book, and was left as it is. Name another file with --book",
        newer: "was written by a newer version of this program",
        text / "book.sqlite3": "cannot be opened (",
    }
    for place, said in refused.items():
        with pytest.raises(BookError) as error:
            HeldBook(place)
        assert said in str(error.value)
    assert [newer, text] == sorted(tmp_path.iterdir())
    assert not is_open_book(newer)
