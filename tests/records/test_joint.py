"""What is written together: on the disk in one go, and where the database refuses a part of it nothing of it is."""

import sqlite3
from pathlib import Path

import pytest

from commission.evidence.talk import Told
from commission.files.book_file import is_open_book
from commission.records.bench import bench_file, kept_bench
from commission.records.book import Book
from commission.records.chain import check_chain, link_row
from commission.records.joining import ForkError
from commission.records.tables import BookError
from commission.records.union import join
from tests.records.memory import chain_of
from tests.support.fake_time import FakeClock
from tests.support.made import begun

TOLD = Told(heading="a word")
OTHER = chain_of(("r2", TOLD), ("r2", TOLD))


@pytest.fixture(name="book")
def _book(tmp_path: Path) -> Book:
    """A book with one entry, in whose file the database refuses every entry of the run `refused`."""
    place = tmp_path / "book.sqlite3"
    book = Book(place, FakeClock())
    book.append("r1", TOLD)
    with sqlite3.connect(place) as file:
        file.execute(
            "CREATE TRIGGER refuses BEFORE INSERT ON entries WHEN new.run = 'refused' "
            "BEGIN SELECT RAISE(ABORT, 'not this one'); END"
        )
    file.close()
    return book


def runs_in(book: Book) -> list[str]:
    """The run of each entry, in order."""
    return [row.run for row in book.rows()]


def test_a_refused_entry_is_said_and_forgotten(book: Book) -> None:
    """The book goes on in its chain behind the last entry that was kept, also when it is opened again."""
    with pytest.raises(BookError, match=r"cannot be written \(not this one\)\. Check that the file and its folder"):
        book.append("refused", TOLD)
    book.append("r1", TOLD)
    with pytest.raises(BookError):
        book.append("refused", TOLD)
    book.close()
    with Book(book.path, FakeClock()) as again:
        again.append("r1", TOLD)

        assert ["r1"] * 3 == runs_in(again)
        (chain,) = again.chains()
        assert [] == check_chain(chain)


def write_refused(book: Book, refused: list[str]) -> None:
    """A whole of three entries, of which the second is refused; the runs of those that are refused are told."""
    with book.together():
        book.append("r1", TOLD)
        for run in ("refused", "r1"):
            with pytest.raises(BookError, match="not this one"):
                book.append(run, TOLD)
            refused.append(run)


def test_a_refused_part_is_the_end_of_the_whole(book: Book) -> None:
    """It is said at once, nothing more is written into the whole, and nothing of it is kept."""
    refused: list[str] = []
    with pytest.raises(BookError, match="not this one"):
        write_refused(book, refused)

    assert ["refused", "r1"] == refused
    assert ["r1"] == runs_in(book)
    assert 2 == book.append("r1", TOLD).sequence


def test_a_part_that_fails_by_itself_leaves_the_rest(book: Book) -> None:
    """A chain that was taken before another one proved to be a fork is not kept; what else was written is."""
    one = chain_of(("r3", TOLD), ("r3", TOLD))
    otherwise = [one[0], link_row(one[0], run="r3", kind="told", at="t", elapsed_us=7, payload=one[1].payload)]
    book.receive(one)
    with book.together():
        book.append("r1", TOLD)
        with pytest.raises(ForkError):
            book.receive(OTHER, otherwise)
        book.append("r1", TOLD)

    assert [3, 2] == [len(rows) for rows in book.chains()]
    assert ["r1"] * 3 + ["r3"] * 2 == sorted(runs_in(book))


def fail_after_joining(book: Book) -> None:
    """A whole that takes a chain and begins the bench's own, and comes to nothing."""
    with book.together():
        book.receive(OTHER)
        book.append("r1", TOLD)
        raise ZeroDivisionError


def test_a_whole_that_fails_leaves_the_book_as_it_was(tmp_path: Path) -> None:
    """A chain that was joined in it is not there, and places are again those of one chain."""
    book = Book(tmp_path / "book.sqlite3", FakeClock())
    assert 0 == book.receive([])
    with pytest.raises(ZeroDivisionError):
        fail_after_joining(book)
    row = book.append("r1", TOLD)

    assert (1, 1, 0) == (row.sequence, row.place, row.chain)
    assert [[row]] == book.chains()


def test_two_openings_write_in_turn(book: Book) -> None:
    """Each goes on behind what the other one wrote meanwhile."""
    with Book(book.path, FakeClock()) as other:
        for each in (book, other, book, other):
            each.append("r1", TOLD)

    assert [1, 2, 3, 4, 5] == [row.sequence for row in book.rows()]
    assert [] == check_chain(list(book.rows()))


def test_what_is_written_beside_a_new_chain_has_its_place(tmp_path: Path) -> None:
    """In a whole that takes a chain and begins the own one; and in a book just opened, whatever is written first."""
    place = tmp_path / "book.sqlite3"
    with Book(place, FakeClock()) as book:
        with book.together():
            book.receive(OTHER)
            first = book.append("r1", begun("r1"))
        assert [first.place] == [each.place for each in book.rows("r1")]
    with Book(place, FakeClock()) as book:
        row = book.append("r1", TOLD)
        assert first.place == next(book.rows("r1")).place > first.sequence
        assert row.place == list(book.rows("r1"))[-1].place > row.sequence


def test_an_entry_is_asked_for_by_its_number(tmp_path: Path) -> None:
    """In the chain of this bench alone; a book that was not begun has none."""
    with Book(tmp_path / "book.sqlite3", FakeClock()) as book:
        found = [book.has_entry(1)]
        book.receive(OTHER)
        found.append(book.has_entry(1))
        book.append("r1", TOLD)
        found += [book.has_entry(number) for number in (1, 2, 3)]
    with Book(tmp_path / "book.sqlite3", FakeClock(), reads_only=True) as book:
        found += [book.has_entry(number) for number in (1, 2, 3)]

    assert [False, False, True, True, False, True, True, False] == found


def test_a_book_that_cannot_be_opened_is_let_go_of(tmp_path: Path) -> None:
    """Nothing thinks that this process has it open, and no file of the database stays beside it."""
    place = tmp_path / "book.sqlite3"
    Book(place, FakeClock()).close()
    whole = place.read_bytes()
    for spoilt, said in (
        (whole[:60] + bytes([0, 0, 0, 99]) + whole[64:], "was written by a newer version"),
        (whole[:100] + bytes([255]) * (len(whole) - 100), "cannot be opened"),
    ):
        place.write_bytes(spoilt)
        with pytest.raises(BookError, match=said):
            Book(place, FakeClock())
        assert not is_open_book(place)
        assert [place] == list(tmp_path.iterdir())


def test_moments_count_from_the_opening(tmp_path: Path) -> None:
    """By the monotonic clock, in microseconds, however long that one runs already."""
    clock = FakeClock()
    clock.elapsed_s = 1000.0
    with Book(tmp_path / "book.sqlite3", clock) as book:
        clock.elapsed_s += 3.25
        moment = book.moment()

    assert ("2031-03-14T09:43:36.250+00:00", 3_250_000) == moment


def test_an_older_book_has_its_bench_once_it_is_opened(tmp_path: Path) -> None:
    """Who opens it for writing goes on with its chain, and says so beside it before anything is written."""
    place = tmp_path / "book.sqlite3"
    with Book(place, FakeClock()) as book:
        row = book.append("r1", TOLD)
    bench_file(place).unlink()
    with sqlite3.connect(place) as file:
        file.execute("PRAGMA user_version = 2")
    file.close()
    with Book(place, FakeClock()):
        kept = kept_bench(place)

    assert kept is not None
    assert (row.digest, 1, row.digest) == (kept.origin, kept.entries, kept.digest)


def test_damaged_lines_of_two_chains_are_named(tmp_path: Path) -> None:
    """A book whose order they decide is opened all the same, for whoever looks what is wrong with it."""
    place = tmp_path / "book.sqlite3"
    with Book(place, FakeClock()) as book:
        book.receive(chain_of(("r2", begun("r2")), ("r2", begun("r2"))))
        book.append("r1", begun("r1"))
    with sqlite3.connect(place) as file:
        pages = [page for (page,) in file.execute("SELECT pageno FROM dbstat WHERE name LIKE 'facts%'")]
    file.close()
    whole = bytearray(place.read_bytes())
    for page in pages:
        whole[(page - 1) * 4096 : page * 4096] = bytes([255]) * 4096
    place.write_bytes(whole)
    for reads_only in (True, False):
        with Book(place, FakeClock(), reads_only=reads_only) as book:
            assert any("the file is damaged" in fault.what for fault in book.verify())
            with pytest.raises(BookError, match=r"cannot be read \("):
                list(book.records(Told))


def test_of_a_book_with_damage_the_sound_chains_are_joined(tmp_path: Path) -> None:
    """What cannot be read of one chain holds up that one alone; of each it is told how far this book has it."""
    place = tmp_path / "other.sqlite3"
    with Book(place, FakeClock()) as other:
        other.receive(OTHER, chain_of(("r3", TOLD), ("r3", TOLD), ("r3", TOLD)))
    with sqlite3.connect(place) as file:
        file.execute("DROP TRIGGER entries_no_update")
        file.execute("UPDATE entries SET at = x'00' WHERE sequence = 2")
    file.close()
    with Book(tmp_path / "book.sqlite3", FakeClock()) as book, Book(place, FakeClock(), reads_only=True) as other:
        book.receive(OTHER)
        damaged, sound = join(book, other)
        again = join(book, other)[1]

    assert (1, 0, 0) == (damaged.there, damaged.here, damaged.added)
    assert "it is not as it was written (entry 2 cannot be read)." == damaged.refused
    assert [(3, 3, 3, ""), (3, 3, 0, "")] == [
        (each.there, each.here, each.added, each.refused) for each in (sound, again)
    ]


def test_a_chain_that_was_altered_is_told_by_its_entry(tmp_path: Path) -> None:
    """The first fault of it; nothing of it is taken."""
    place = tmp_path / "other.sqlite3"
    with Book(place, FakeClock()) as other:
        other.receive(OTHER)
    with sqlite3.connect(place) as file:
        file.execute("DROP TRIGGER entries_no_update")
        file.execute("UPDATE entries SET at = '' WHERE sequence IN (1, 2)")
    file.close()
    with Book(tmp_path / "book.sqlite3", FakeClock()) as book, Book(place, FakeClock(), reads_only=True) as other:
        (told,) = join(book, other)
        assert [] == book.heads()

    assert (2, 0, 0) == (told.there, told.here, told.added)
    assert "it is not as it was written (entry 1 (told) was altered after it was written)." == told.refused
