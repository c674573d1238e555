"""What lies in the file is small, and what is read of it is what was written: chain, export and older formats."""

import hashlib
import sqlite3
import zlib
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.evidence.codec import written
from commission.evidence.runs import Note, PhaseStarted
from commission.evidence.wire import Bytes, Stretch
from commission.files.deflate import packed, unpacked
from commission.records.book import Book
from commission.records.chain import Row, canonical, digest_of, link_row
from commission.records.packing import WORDS, restored, stored
from tests.support.fake_time import FakeClock

RUN = "bench-3/2031-03-14/1"
REPLY = b"x_min: open\nfilament: TRIGGERED\nok\n"


@given(st.text('ab\\"', max_size=900), st.none() | st.binary(max_size=900))
def test_a_row_comes_back_as_it_was(payload: str, raw: bytes | None) -> None:
    """Whatever its size, and whether it has bytes."""
    row = link_row(None, run=RUN, kind="told", at="t", elapsed_us=0, payload=payload, raw=raw)

    assert row.fields == restored(stored(row))


@pytest.mark.parametrize("digest", ["", "AB" * 32, "zz" * 32, "ab" * 31, " " + "ab" * 31 + "a"])
def test_a_digest_that_is_none_stays_as_it_is(digest: str) -> None:
    """An import can bring any text: it is kept as it came, for the check to find."""
    row = Row(1, RUN, "told", "t", 0, "{}", None, digest, digest)

    assert row.fields == restored(stored(row))


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


def test_the_words_of_the_format_never_change() -> None:
    """Every book that was ever packed needs them to the byte: a better list is another file."""
    assert "4774adf05c55c70801eec68929a19a6acde9563bc4f421794487c83229d8b789" == hashlib.sha256(WORDS).hexdigest()


def test_a_short_entry_takes_a_few_bytes() -> None:
    """What entries are made of is in the list; what gains nothing lies there as text."""
    payload = canonical(written(PhaseStarted(name="loop_check", title="Loop check")))
    row = link_row(None, run=RUN, kind="phase_started", at="t", elapsed_us=0, payload=payload)
    short = link_row(None, run=RUN, kind="told", at="t", elapsed_us=0, payload="{}")

    assert len(stored(row)["payload"]) < len(payload) / 2
    assert "{}" == stored(short)["payload"]


def test_an_entry_is_packed_from_16_bytes_saved_on() -> None:
    """Texts of every length up to 60: the one that saves 15 bytes lies as it is, the one that saves 16 is packed."""
    saved = {}
    for length in range(60):
        row = link_row(None, run=RUN, kind="told", at="t", elapsed_us=0, payload="a" * length)
        saved[length - len(packed(row.payload.encode(), WORDS))] = stored(row)["payload"] != row.payload

    assert {15: False, 16: True} == {gain: saved[gain] for gain in (15, 16)}
    assert all(is_packed is (gain >= 16) for gain, is_packed in saved.items())


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "its end is missing"),
        (packed(b"abc")[:-2], "its end is missing"),
        (packed(b"abc") + b"x", "something stands behind"),
        (b"no such thing", "cannot be unpacked"),
        (packed(bytes(101)), "more than 100 bytes"),
        (zlib.compress(bytes(50_000_000), 9), "more than 100 bytes"),
        (packed(b"abc" * 9, b"abcabc"), "cannot be unpacked"),
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
        names = ", ".join(first.fields)
        marks = ", ".join("?" for _ in first.fields)
        file.execute(f"INSERT INTO entries ({names}) VALUES ({marks})", tuple(first.fields.values()))  # noqa: S608 - ours
    file.close()
    with Book(place, FakeClock()) as book:
        note = Note(tag_of_printer="bench-3", what="remark", text="long " * 200)
        second = book.append(RUN, note)

        assert [first, second] == list(book.rows())
        assert [] == book.verify()


def test_bytes_of_the_wire_count_for_what_is_saved() -> None:
    """With the payload, as they lie packed and not packed: where both together save 16 bytes both are packed."""
    for length in range(60):
        row = link_row(None, run=RUN, kind="told", at="t", elapsed_us=0, payload="{}", raw=b"a" * length)
        saved = length + len("{}") - len(packed(b"a" * length)) - len(packed(b"{}", WORDS))
        assert (saved >= 16) == (stored(row)["raw"] != row.raw)


def test_a_digest_lies_as_its_32_bytes() -> None:
    """What has other digits, or more or fewer of them, stays the text that it is."""
    row = link_row(None, run=RUN, kind="told", at="t", elapsed_us=0, payload="{}")
    assert bytes.fromhex(row.digest) == stored(row)["digest"]
    for digest in ("ab" * 31, "ab" * 33, "AB" * 32):
        assert digest == stored(replace(row, digest=digest))["digest"]


def test_a_packed_payload_that_is_no_text_is_named() -> None:
    """With the place of the first byte that is none."""
    row = link_row(None, run=RUN, kind="told", at="t", elapsed_us=0, payload="{}")
    with pytest.raises(ValueError, match=r"^its payload is no text \(byte 3 is 0xff\)$"):
        restored(stored(row) | {"payload": packed(b"{}\xff", WORDS)})


def test_what_unpacks_to_more_than_64_mib_is_no_entry() -> None:
    """Of a payload and of the bytes beside it: one byte more is refused before it is held in memory."""
    row = link_row(None, run=RUN, kind="told", at="t", elapsed_us=0, payload="{}")
    values = stored(row) | {"payload": packed(b"{}", WORDS)}
    most = 67_108_864

    assert most == len(restored(values | {"raw": zlib.compress(bytes(most), 1)})["raw"])
    with pytest.raises(ValueError, match=r"its raw is damaged: .*more than 67108864 bytes"):
        restored(values | {"raw": zlib.compress(bytes(most + 1), 1)})
