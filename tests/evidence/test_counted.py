"""Bytes of a soak, of trials and of watches are packed, and come back as they were."""

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import structs

from commission.evidence.counted import Piece, counted_bytes, exchanges_in, whole_bytes
from commission.evidence.wire import Exchanged
from commission.files.deflate import packed


@given(st.lists(st.tuples(st.booleans(), st.sampled_from([b"M119\n", b"ok\n", b"x: open\n", b"\x00\xff"])), min_size=1))
def test_every_byte_comes_back_in_its_order(parts: list[tuple[bool, bytes]]) -> None:
    """However the bytes were cut up."""
    traffic = [Piece(sent, data, 0.1 * place) for place, (sent, data) in enumerate(parts)]
    entry, raw = counted_bytes(traffic)

    assert b"".join(data for _, data in parts) == whole_bytes(entry, raw)


def test_what_is_alike_is_kept_once() -> None:
    """A hundred exchanges, of which one differs, are two, and the order says which came when."""
    answers = [b"filament: open\nok\n" if place == 60 else b"filament: TRIGGERED\nok\n" for place in range(100)]
    traffic = [
        part
        for place, answer in enumerate(answers)
        for part in (Piece(True, b"M119\n", 0.1 * place), Piece(False, answer, 0.1 * place + 0.01))
    ]

    entry, _ = counted_bytes(traffic)

    assert [(5, 23), (5, 18)] == [(each.sent, each.received) for each in entry.exchanges]
    assert ((0, 60), (1, 1), (0, 39)) == entry.order


def test_bytes_that_were_altered_are_refused() -> None:
    """The digest is that of the bytes as they went over the wire."""
    entry, raw = counted_bytes([Piece(True, b"M119\n", 0.0)])
    other = counted_bytes([Piece(True, b"M118\n", 0.0)])[1]

    with pytest.raises(ValueError, match="digest differs"):
        whole_bytes(entry, other)
    with pytest.raises(ValueError, match="cannot be unpacked"):
        whole_bytes(entry, raw[:-4])


def test_a_dense_watch_is_kept_as_one_exchange() -> None:
    """Where answers overlap the next question every exchange differs: each direction comes back in its own order."""
    parts = [Piece(True, b"M119\n", 0.0)]
    for place in range(40):
        cut = 3 + place % 15
        parts += [Piece(False, b"x: open\nok\n"[:cut], 0.1), Piece(True, b"M119\n", 0.1)]
        parts += [Piece(False, b"x: open\nok\n"[cut:], 0.1)] if cut < 11 else []
    entry, raw = counted_bytes(parts, timed=True)

    ((sent, received),) = exchanges_in(entry, raw)
    assert sent == b"".join(part.data for part in parts if part.sent)
    assert received == b"".join(part.data for part in parts if not part.sent)
    assert len(raw) < 100


@pytest.mark.parametrize(("answers", "kept"), [(8, 8), (9, 1)])
def test_up_to_eight_timed_exchanges_stand_apart(answers: int, kept: int) -> None:
    """Eight that differ have a row and a time each; with a ninth the bytes of each direction stand in one row."""
    traffic = [
        part
        for place in range(answers)
        for part in (Piece(True, b"M119\n", 100.0 + place), Piece(False, b"x: %d\n" % place, 100.5 + place))
    ]
    entry, raw = counted_bytes(traffic, timed=True)

    assert kept == len(entry.exchanges)
    assert tuple(1_000_000 * place for place in range(kept)) == entry.after_us
    assert answers == b"".join(sent for sent, _ in exchanges_in(entry, raw)).count(b"M119\n")


def test_nothing_is_no_entry() -> None:
    """There is nothing to count; and where an entry holds no byte there is no exchange in it."""
    with pytest.raises(ValueError, match="no bytes"):
        counted_bytes([])
    empty, raw = counted_bytes([Piece(True, b"", 0.0)])

    assert [] == list(exchanges_in(empty, raw))


def test_an_order_that_names_another_exchange_is_refused() -> None:
    """The second of one, as a damaged entry may say."""
    entry, raw = counted_bytes([Piece(True, b"M119\n", 0.0)])

    with pytest.raises(ValueError, match="their order names others"):
        whole_bytes(structs.replace(entry, order=((1, 1),)), raw)


def test_times_are_kept_where_they_are_asked_for() -> None:
    """When each row of alike exchanges began, from the first on; a soak says its times itself."""
    parts = [
        part
        for place, answer in enumerate((b"in\n", b"in\n", b"out\n"))
        for part in (Piece(True, b"M119\n", 2.0 + place), Piece(False, answer, 2.5 + place))
    ]

    assert () == counted_bytes(parts)[0].after_us
    assert (0, 2_000_000) == counted_bytes(parts, timed=True)[0].after_us


def test_no_entry_unpacks_to_more_than_the_limit() -> None:
    """64 MiB come back; an entry altered to claim one byte more is refused before they are made."""
    piece = bytes(2**20)
    entry, _ = counted_bytes([Piece(True, piece, 0.0)])
    alike = hashlib.sha256(piece * 64).hexdigest()
    both, one = Exchanged(5, len(piece) - 5), Exchanged(1, 0)
    most = structs.replace(entry, order=((0, 64),), exchanges=(both, one), sha256=alike)

    assert 64 * 2**20 == len(whole_bytes(most, packed(piece + b"x")))
    with pytest.raises(ValueError, match="their order names others"):
        whole_bytes(structs.replace(most, order=((0, 64), (1, 1))), packed(piece + b"x"))
