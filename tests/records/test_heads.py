"""Where books ended, kept elsewhere: a cut end and a book written anew are found, though each chain is whole."""

import json
import sqlite3
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from commission.cli import main
from commission.evidence.talk import Told
from commission.files.output import OutputRefused
from commission.records.book import Book
from commission.records.heads import VARIABLE, compare_heads, heads_path, keep_head, kept_heads
from tests.records.books import Workshop
from tests.support.fake_time import FakeClock

RUN = "bench-3/2031-03-14/1"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A book of three entries, with two heads kept."""
    workshop = Workshop(tmp_path)
    workshop.begin(RUN)
    keep_head(tmp_path / "heads", workshop.book)
    workshop.book.append(RUN, Told(heading="a word"))
    workshop.end(RUN)
    keep_head(tmp_path / "heads", workshop.book)
    workshop.book.close()
    return tmp_path / "book.sqlite3"


def compared(place: Path) -> tuple[bool, list[str]]:
    """What the kept heads say of the book, with the folder left out of the sentences."""
    with Book(place, FakeClock(), reads_only=True) as book:
        found = compare_heads(place.with_name("heads"), place, book.survey()[0])
    return found.sound, [sentence.replace(f"{place.parent}/", "") for sentence in found.sentences]


def digest_of(place: Path, number: int) -> str:
    """The digest of an entry."""
    with Book(place, FakeClock(), reads_only=True) as book:
        return next(row.digest for row in book.rows() if row.sequence == number)


def cut(place: Path, after: int) -> None:
    """Remove every entry behind that one, and leave no other trace."""
    with sqlite3.connect(place) as file:
        for table in ("entries", "facts"):
            name = f"{table}_no_delete"
            (trigger,) = file.execute("SELECT sql FROM sqlite_master WHERE name = ?", (name,)).fetchone()
            file.execute(f"DROP TRIGGER {name}")
            file.execute(f"DELETE FROM {table} WHERE sequence > ?", (after,))  # noqa: S608 - our own names
            file.execute(trigger)
    file.close()


def test_a_book_that_goes_on_holds_its_heads(place: Path) -> None:
    """Entries that were added since change nothing."""
    with Book(place, FakeClock()) as book:
        book.append(RUN, Told(heading="more"))

    assert (True, ["The book holds every head that is kept of it in heads: 2, the last of entry 3."]) == compared(place)


def test_a_cut_end_is_found(place: Path) -> None:
    """The chain is whole, and the newest head is not in it."""
    digest = digest_of(place, 3)
    cut(place, 2)

    with Book(place, FakeClock(), reads_only=True) as book:
        assert [] == book.verify()
    said = (
        "Not as it was: 1 of the 2 heads in heads are not in this book. On 2031-03-14 09:26 it had 3 entries, the "
        f"newest with the digest {digest}."
    )
    assert (False, [said]) == compared(place)


def test_a_chain_reckoned_anew_is_found(place: Path) -> None:
    """Written anew behind its first entry with other words, every digest fits the one before it, and no head does."""
    cut(place, 1)
    with Book(place, FakeClock()) as book:
        book.append(RUN, Told(heading="another word"))
        book.append(RUN, Told(heading="and another"))
        assert [] == book.verify()

    sound, said = compared(place)
    assert not sound
    assert said[0].startswith("Not as it was: 1 of the 2 heads in heads are not in this book.")


def test_another_book_at_the_same_place_is_found(place: Path) -> None:
    """Begun anew from its first entry on it is another book: that another one lay here is said, with what to do."""
    digest = digest_of(place, 3)
    place.unlink()
    with Book(place, FakeClock()) as book:
        book.append(RUN, Told(heading="all new"))

    assert (
        False,
        [
            "No head of this book is kept in heads yet. One is added whenever something was written.",
            "Another book lay at this place. On 2031-03-14 09:26 it had 3 entries, the newest with the digest "
            f"{digest}. "
            "If this one was begun anew on purpose, take the other book's lines out of heads.",
        ],
    ) == compared(place)


def test_a_copy_that_goes_on_by_itself_has_its_own_heads(place: Path) -> None:
    """A copy grew elsewhere and is still there: this book is not held against what that one came to."""
    copy = place.with_name("copy.sqlite3")
    copy.write_bytes(place.read_bytes())
    with Book(copy, FakeClock()) as book:
        book.append(RUN, Told(heading="only here"))
        keep_head(place.with_name("heads"), book)

    assert (True, ["The book holds every head that is kept of it in heads: 2, the last of entry 3."]) == compared(place)


def test_a_book_that_was_moved_is_held_against_its_heads(place: Path) -> None:
    """At its old place nothing lies any more: what was kept of it there counts here."""
    moved = place.with_name("moved.sqlite3")
    place.rename(moved)
    cut(moved, 2)

    assert not compared(moved)[0]


def test_a_head_is_kept_once(place: Path) -> None:
    """Where nothing was written since, no line is added."""
    before = place.with_name("heads").read_bytes()
    with Book(place, FakeClock()) as book:
        keep_head(place.with_name("heads"), book)

    assert before == place.with_name("heads").read_bytes()
    assert 2 == len(before.splitlines())


def test_strange_lines_are_named_and_left_out(place: Path) -> None:
    """A line that holds no head costs no other one, and none of them is obeyed."""
    heads = place.with_name("heads")
    heads.write_bytes(b"no head\n" + heads.read_bytes() + b'{"book":1}\n\xff\n' + b"[" * 100_000 + b"\n")

    assert (2, [1, 4, 5, 6]) == (len(kept_heads(heads)[0]), kept_heads(heads)[1])
    sound, said = compared(place)
    assert sound
    assert "heads, line 4, holds no head: it is left out." in said


def test_the_file_lies_apart_from_the_book() -> None:
    """Named, in the environment, or in the user's folder of states: never beside the book by itself."""
    assert Path("named") == heads_path(Path("named"), {VARIABLE: "other"})
    assert Path("other") == heads_path(None, {VARIABLE: "other"})
    assert "book-heads.jsonl" == heads_path(None, {}).name


def call(folder: Path, *words: str) -> Result:
    """A command with that folder's book, and its own file of heads."""
    return CliRunner(env={VARIABLE: str(folder / "heads")}).invoke(
        main, [*words, "--book", str(folder / "book.sqlite3")]
    )


def test_a_command_that_writes_keeps_a_head_and_verify_reads_it(tmp_path: Path) -> None:
    """A note keeps the head; what only reads keeps none; a book cut since fails by `book verify` without an option."""
    workshop = Workshop(tmp_path)
    workshop.whole_run(RUN)
    workshop.book.close()
    call(tmp_path, "book", "list")
    assert not (tmp_path / "heads").exists()
    call(tmp_path, "note", "bench-3", "dusty sensor")
    (kept,) = [json.loads(line) for line in (tmp_path / "heads").read_text().splitlines()]
    whole = call(tmp_path, "book", "verify")
    cut(tmp_path / "book.sqlite3", kept["entries"] - 1)
    after = call(tmp_path, "book", "verify")

    assert (0, 1) == (whole.exit_code, after.exit_code)
    assert "The book holds every head" in " ".join(whole.output.split())
    assert "Not as it was: 1 of the 1 heads" in " ".join(after.output.split())


def test_a_head_that_cannot_be_kept_is_said(tmp_path: Path) -> None:
    """The note is in the book and the command has done its work; that the head is missing is said."""
    workshop = Workshop(tmp_path)
    workshop.whole_run(RUN)
    workshop.book.close()
    (tmp_path / "heads").mkdir()
    noted = call(tmp_path, "note", "bench-3", "dusty sensor")

    assert 0 == noted.exit_code
    assert "Where the record book ends was not kept in" in " ".join(noted.output.split())


def test_no_other_file_is_added_to(tmp_path: Path) -> None:
    """A file of heads that is named by mistake, be it a text or the book itself, stays as it is; that is said."""
    workshop = Workshop(tmp_path)
    workshop.whole_run(RUN)
    workshop.book.close()
    (tmp_path / "heads").write_text("keep me\n")
    other = call(tmp_path, "note", "bench-3", "dusty sensor")
    (tmp_path / "heads").unlink()
    (tmp_path / "heads").symlink_to("book.sqlite3")
    itself = call(tmp_path, "note", "bench-3", "dusty again")
    verified = call(tmp_path, "book", "verify")

    assert (0, 0, 1) == (other.exit_code, itself.exit_code, verified.exit_code)
    assert "is no file of heads: nothing is added to it." in " ".join(other.output.split())
    assert "is the record book: its heads must be kept in another file." in " ".join(itself.output.split())
    assert "none was altered" in verified.output


def test_a_file_of_another_kind_is_left_whole(tmp_path: Path) -> None:
    """Not a byte is added to what is no file of heads."""
    workshop = Workshop(tmp_path)
    workshop.whole_run(RUN)
    (tmp_path / "heads").write_text("keep me\n")

    with pytest.raises(OutputRefused):
        keep_head(tmp_path / "heads", workshop.book)
    assert "keep me\n" == (tmp_path / "heads").read_text()


def test_the_file_of_heads_is_for_its_owner_alone(tmp_path: Path) -> None:
    """It is made with the folders it lies in, and added to when they are there; nothing of it stays open."""
    heads = tmp_path / "states" / "commission" / "heads"
    workshop = Workshop(tmp_path)
    workshop.begin(RUN)
    keep_head(heads, workshop.book)
    workshop.end(RUN)
    keep_head(heads, workshop.book)

    assert 2 == len(heads.read_text().splitlines())
    assert (0o700, 0o600) == tuple(each.stat().st_mode & 0o777 for each in (heads.parent, heads))


def test_heads_that_cannot_be_read_are_no_proof(place: Path) -> None:
    """A folder of that name is told as what it is, and the book is not said to be sound."""
    place.with_name("heads").unlink()
    place.with_name("heads").mkdir()
    sound, (said,) = compared(place)

    assert not sound
    assert said == "The heads in heads cannot be read: Is a directory."
