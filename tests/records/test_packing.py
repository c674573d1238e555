"""What lies in the file is small, and what is read of it is what was written: chain, export and older formats."""

import sqlite3
import zlib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.evidence.runs import Note
from commission.evidence.talk import Told
from commission.evidence.wire import Bytes, Stretch
from commission.files.deflate import packed, unpacked
from commission.records.book import Book
from commission.records.chain import Row, digest_of, link_row
from commission.records.packing import PACKED_FROM, restored, stored
from tests.support.fake_time import FakeClock

RUN = "bench-3/2031-03-14/1"
REPLY = b"x_min: open\nfilament: TRIGGERED\nok\n"


@given(st.text('ab\\"', max_size=900), st.none() | st.binary(max_size=900))
def test_a_row_comes_back_as_it_was(payload: str, raw: bytes | None) -> None:
    """Whatever its size, and whether it has bytes."""
    row = link_row(None, run=RUN, kind="told", at="t", elapsed_us=0, payload=payload, raw=raw)

    assert vars(row) == restored(stored(row))


@pytest.mark.parametrize("digest", ["", "AB" * 32, "zz" * 32, "ab" * 31, " " + "ab" * 31 + "a"])
def test_a_digest_that_is_none_stays_as_it_is(digest: str) -> None:
    """An import can bring any text: it is kept as it came, for the check to find."""
    row = Row(1, RUN, "told", "t", 0, "{}", None, digest, digest)

    assert vars(row) == restored(stored(row))


def test_traffic_lies_packed_and_its_digest_is_over_the_bytes(tmp_path: Path) -> None:
    """The file is far smaller than what was heard; the digest can be worked out by anyone over what was."""
    heard = REPLY * 4000
    with Book(tmp_path / "book.sqlite3", FakeClock()) as book:
        written = book.append(RUN, Bytes(parts=(Stretch(sent=False, at_us=1, size=len(heard)),)), raw=heard)
        (record,) = book.records(Bytes)

        assert heard == record.raw
        assert [] == book.verify()
    same = digest_of(1, RUN, "traffic", written.at, written.elapsed_us, written.payload, heard, "0" * 64)
    assert same == written.digest
    assert (tmp_path / "book.sqlite3").stat().st_size < len(heard) / 2


def test_what_is_small_can_be_read_by_any_program(tmp_path: Path) -> None:
    """A short entry lies there as its text: packing would gain nothing."""
    with Book(tmp_path / "book.sqlite3", FakeClock()) as book:
        book.append(RUN, Told(heading="a word"))
    with sqlite3.connect(tmp_path / "book.sqlite3") as file:
        ((payload,),) = file.execute("SELECT payload FROM entries").fetchall()
    file.close()

    assert len(payload) < PACKED_FROM
    assert "a word" in payload


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "its end is missing"),
        (packed(b"abc")[:-2], "its end is missing"),
        (packed(b"abc") + b"x", "something stands behind"),
        (b"no such thing", "cannot be unpacked"),
        (packed(bytes(101)), "more than 100 bytes"),
        (zlib.compress(bytes(50_000_000), 9), "more than 100 bytes"),
    ],
)
def test_what_is_not_whole_is_not_taken(data: bytes, why: str) -> None:
    """Cut, lengthened, of another kind, or standing for more than anything that was written (RFC 1950)."""
    with pytest.raises(ValueError, match=why):
        unpacked(data, 100)


def test_a_book_of_two_formats_is_one_chain(tmp_path: Path) -> None:
    """Rows as the first format kept them, and packed ones behind them, are verified and exported alike."""
    place = tmp_path / "book.sqlite3"
    first = link_row(None, run=RUN, kind="told", at="t", elapsed_us=0, payload="x" * 2000)
    with Book(place, FakeClock()):
        pass
    with sqlite3.connect(place) as file:
        names = ", ".join(vars(first))
        marks = ", ".join("?" for _ in vars(first))
        file.execute(f"INSERT INTO entries ({names}) VALUES ({marks})", tuple(vars(first).values()))  # noqa: S608 - ours
    file.close()
    with Book(place, FakeClock()) as book:
        note = Note(tag_of_printer="bench-3", what="remark", text="long " * 200)
        second = book.append(RUN, note)

        assert [first, second] == list(book.rows())
        assert [] == book.verify()
