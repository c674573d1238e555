"""Which bench writes into a book: its mark, and what is kept of it beside the book."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from commission.records.bench import Bench, bench_file, keep_bench, kept_bench, new_bench
from commission.records.tables import BookError

DIGEST = "ab" * 32


@pytest.fixture(name="book")
def _book(tmp_path: Path) -> Path:
    """A file in place of a book."""
    book = tmp_path / "book.sqlite3"
    book.touch()
    return book


@pytest.mark.parametrize(
    ("identity", "mark"),
    [(0, "22222"), (16, "j2222"), (30, "z2222"), (31, "23222"), (31**5 - 1, "zzzzz"), (31**5 + 16, "j2222")],
)
def test_a_mark_is_the_end_of_the_identity(identity: int, mark: str) -> None:
    """Five digits to the base of 31, the lowest first, in signs that nobody mixes up (worked out by hand)."""
    assert mark == Bench(f"{identity:032x}").mark


def test_what_is_kept_of_a_bench_is_read_back(book: Path) -> None:
    """With the place and the file that it belongs to; before anything is kept there is none."""
    bench = replace(new_bench(), origin=DIGEST, entries=3, digest=DIGEST)
    before = kept_bench(book)
    keep_bench(book, bench)
    kept = kept_bench(book)

    assert before is None
    assert kept == replace(bench, place=str(book), file=book.stat().st_ino)
    assert kept is not None
    assert kept.lies_here(book)


@pytest.mark.parametrize("identity", ["0" * 31, "0" * 33, "g" * 32, "A" * 32, "", 7])
def test_a_file_without_an_identity_is_none_of_ours(book: Path, identity: object) -> None:
    """An identity has 32 hexadecimal digits; what has none names no bench."""
    keep_bench(book, new_bench())
    told = json.loads(bench_file(book).read_text())
    bench_file(book).write_text(json.dumps(told | {"bench": identity}))

    assert kept_bench(book) is None


def test_a_place_that_keeps_nothing_is_said(book: Path) -> None:
    """Neither read nor written where a folder lies in its place: a bench that is not known could make a fork."""
    bench_file(book).mkdir()
    with pytest.raises(BookError, match="says who writes into the book, and cannot be read"):
        kept_bench(book)
    with pytest.raises(BookError, match=r"cannot be written \(.*\): it says which bench goes on with the book"):
        keep_bench(book, new_bench())
