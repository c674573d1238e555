"""The book taken elsewhere: nothing is lost, and nothing that was changed on the way gets in."""

import io
import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.evidence.talk import Told
from commission.evidence.wire import Bytes, Stretch
from commission.records.book import Book, BookError
from commission.records.chain import Row, canonical, link_row
from commission.records.export import ImportRefused, export_lines, import_entries, read_export
from tests.records.books import Workshop
from tests.records.memory import chain_of
from tests.support.fake_time import FakeClock


def exported(book: Book) -> bytes:
    """The export as a file holds it."""
    return "".join(f"{line}\n" for line in export_lines(book.chains())).encode()


def imported(data: bytes) -> list[list[Row]]:
    """The chains of an export."""
    return read_export(io.BytesIO(data))


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    """A book with a run, raw bytes included."""
    workshop = Workshop(tmp_path)
    workshop.begin("bench-3/2031-03-14/1")
    workshop.book.append("bench-3/2031-03-14/1", Bytes(parts=(Stretch(True, 1, 3),)), raw=b"\x00\xff\n")
    workshop.book.append("bench-3/2031-03-14/1", Bytes(parts=()))
    workshop.end("bench-3/2031-03-14/1")
    return workshop


def test_an_import_brings_back_every_entry(workshop: Workshop, tmp_path: Path) -> None:
    """A new book that took the export holds the same entries, bytes and digests, and exports the same text."""
    data = exported(workshop.book)
    other = Book(tmp_path / "other.sqlite3", FakeClock())
    done = import_entries(other, imported(data))

    assert (4, 0) == (done.added, done.present)
    assert list(workshop.book.rows()) == list(other.rows())
    assert data == exported(other)
    assert [] == other.verify()


def test_a_newer_export_adds_only_what_is_new(workshop: Workshop, tmp_path: Path) -> None:
    """A copy that takes a later export of the same book gets the new entries behind its own."""
    other = Book(tmp_path / "other.sqlite3", FakeClock())
    import_entries(other, imported(exported(workshop.book)))
    workshop.begin("bench-3/2031-03-14/2")
    done = import_entries(other, imported(exported(workshop.book)))

    assert (1, 4) == (done.added, done.present)
    assert list(workshop.book.rows()) == list(other.rows())


def test_an_older_export_adds_nothing(workshop: Workshop) -> None:
    """The book itself takes its own older export without a change."""
    older = imported(exported(workshop.book))
    workshop.begin("bench-3/2031-03-14/2")

    assert 0 == import_entries(workshop.book, older).added
    assert 5 == len(list(workshop.book.rows()))


def test_another_book_is_joined(workshop: Workshop, tmp_path: Path) -> None:
    """Another book's export is a chain beside its own; taken a second time it changes nothing."""
    other = Book(tmp_path / "other.sqlite3", FakeClock())
    other.append("r1", Told(heading="something else"))
    data = exported(workshop.book)

    assert (4, 0) == tuple(vars(import_entries(other, imported(data))).values())
    assert (0, 4) == tuple(vars(import_entries(other, imported(data))).values())
    assert [[1], [1, 2, 3, 4]] == [[row.sequence for row in chain] for chain in other.chains()]
    assert other.chains() == imported(exported(other))
    assert [] == other.verify()


def test_a_fork_is_refused(workshop: Workshop, tmp_path: Path) -> None:
    """A chain that goes on otherwise is named, and nothing of the export is kept."""
    rows = list(workshop.book.rows())
    other = Book(tmp_path / "other.sqlite3", FakeClock())
    last = link_row(rows[2], run="r", kind="told", at="2031-03-14T09:26:53.000+00:00", elapsed_us=0, payload="{}")
    other.receive([*rows[:3], last])

    with pytest.raises(ImportRefused, match=f"{rows[0].digest[:8]} goes on in two ways from entry 4 on.*Nothing"):
        import_entries(other, imported(exported(workshop.book)))
    assert [*rows[:3], last] == list(other.rows())


def test_entries_without_their_beginning_are_not_received(workshop: Workshop, tmp_path: Path) -> None:
    """The book itself refuses entries that follow none that it has, and keeps none of them."""
    other = Book(tmp_path / "other.sqlite3", FakeClock())

    with pytest.raises(BookError, match="the entry before it is not in the book"):
        other.receive(list(workshop.book.rows())[1:])
    assert [] == list(other.rows())


def test_every_line_counts(workshop: Workshop) -> None:
    """Without any one of its lines an export is refused."""
    lines = exported(workshop.book).splitlines(keepends=True)

    for left_out in range(len(lines)):
        with pytest.raises(ImportRefused):
            imported(b"".join(lines[:left_out] + lines[left_out + 1 :]))


def test_every_tail_counts(workshop: Workshop) -> None:
    """An export cut anywhere but behind its last brace is refused."""
    data = exported(workshop.book).rstrip()

    for length in range(0, len(data), 7):
        with pytest.raises(ImportRefused):
            imported(data[:length])


@pytest.mark.parametrize(
    ("field", "value"),
    [("sequence", "1"), ("sequence", True), ("raw", "%%"), ("raw", 3), ("payload", None), ("elapsed_us", 2**70)],
)
def test_a_field_of_the_wrong_kind_is_named(workshop: Workshop, field: str, value: object) -> None:
    """A field that no book holds is refused with the number of its line."""
    lines = exported(workshop.book).decode().splitlines()
    entry = json.loads(lines[2]) | {field: value}
    lines[2] = canonical(entry)

    with pytest.raises(ImportRefused, match="Line 3"):
        imported("\n".join(lines).encode())


@pytest.mark.parametrize("field", ["run", "kind", "at", "payload"])
def test_half_a_character_is_refused_with_its_line(tmp_path: Path, field: str) -> None:
    """A chain that is whole and holds a lone surrogate is refused: no book could hold it, and nothing is written."""
    values = {"run": "r", "kind": "told", "at": "2031-03-14T09:26:53.000+00:00", "payload": "{}"}
    values[field] = "x\ud800"
    run, kind, at, payload = values.values()
    row = link_row(None, run=run, kind=kind, at=at, elapsed_us=0, payload=payload)
    data = "".join(f"{line}\n" for line in export_lines([[row]])).encode()

    with pytest.raises(ImportRefused) as refused:
        import_entries(Book(tmp_path / "other.sqlite3", FakeClock()), imported(data))
    assert f"Line 2: {field} holds half a character, which no book holds." == str(refused.value)


def test_a_number_beyond_all_bounds_is_refused_with_its_line(workshop: Workshop) -> None:
    """Five thousand digits are more than the language reads at once; the line is named."""
    lines = exported(workshop.book).decode().splitlines()
    lines[3] = lines[3].replace('"elapsed_us":0', f'"elapsed_us":{"9" * 5000}')

    with pytest.raises(ImportRefused, match="Line 4"):
        imported("\n".join(lines).encode())


def test_a_newer_format_is_refused(workshop: Workshop) -> None:
    """An export of a later version asks for an update of the program."""
    data = exported(workshop.book).replace(b'"version":1', b'"version":3', 1)

    with pytest.raises(ImportRefused, match="Update this program"):
        imported(data)


@given(data=st.binary(max_size=400))
@settings(deadline=None, max_examples=100)
def test_anything_else_is_refused(data: bytes) -> None:
    """Bytes that are no export end in a refusal, never in another error."""
    with pytest.raises(ImportRefused):
        imported(data)


@given(raws=st.lists(st.none() | st.binary(max_size=40), max_size=5), text=st.text(max_size=20))
@settings(deadline=None, max_examples=50)
def test_any_bytes_and_any_text_come_through(raws: list[bytes | None], text: str) -> None:
    """Whatever an entry holds comes back the same."""
    rows: list[Row] = []
    for raw in raws:
        previous, payload = rows[-1] if rows else None, canonical({"text": text})
        at = "2031-03-14T09:26:53.000+00:00"
        rows.append(link_row(previous, run="r", kind="told", at=at, elapsed_us=0, payload=payload, raw=raw))
    data = "".join(f"{line}\n" for line in export_lines([rows])).encode()

    assert ([rows] if rows else []) == imported(data)


LONGEST_LINE_BYTES = 67_108_864
"""64 MiB."""
TWO = [chain_of(*[(run, Told(heading="a word"))] * 2) for run in ("r1", "r2")]


def lines_of(chains: list[list[Row]]) -> list[str]:
    """The lines of an export."""
    return list(export_lines(chains))


def refusal(lines: list[str]) -> str:
    """What is said of an export with these lines."""
    with pytest.raises(ImportRefused) as refused:
        imported("\n".join(lines).encode())
    return str(refused.value)


def test_a_change_on_the_way_is_named() -> None:
    """An entry that was altered, a line that is missing, a chain that is missing: each in its own words."""
    one, both = lines_of(TWO[:1]), lines_of(TWO)
    altered, entry = json.loads(one[2]), json.loads(one[1])
    altered["payload"] = "{}"
    closing = {"entries": 2, "head": TWO[0][0].digest}
    told = {
        "The export is not as the book was: entry 2 (told) was altered": [*one[:2], canonical(altered), one[3]],
        "The export is not as the book was: entry 1 is missing or moved; entry 2": [one[0], *one[2:]],
        "The export ends in the middle: its closing line is missing": one[:-1],
        "The export ends in the middle: it lacks a chain": both[:4],
        "The export's closing line does not fit its entries": [*one[:3], canonical(closing)],
        "Line 2 is no entry": [one[0], "[]", *one[1:]],
        "Line 2 has other fields than an entry": [one[0], canonical(entry | {"more": 1}), *one[2:]],
        "This is no exported record book": ['{"head":"x"}'],
    }
    for said, lines in told.items():
        assert refusal(lines).startswith(said), said
    only = json.loads(one[0]) | {"head": "x"}
    assert refusal([canonical(only)]).startswith("The export ends in the middle: its closing line is missing")
    assert TWO == imported("\n".join(both).encode())


@pytest.mark.parametrize("field", ["sequence", "elapsed_us"])
def test_the_numbers_of_a_book_have_bounds(field: str) -> None:
    """Eight bytes with a sign hold any number that a book holds (SQLite documentation, "Datatypes In SQLite")."""
    one = lines_of(TWO[:1])
    beyond = "Line 2 holds a number that no book holds."
    for number, within in ((2**63 - 1, True), (2**63, False), (-(2**63), True), (-(2**63) - 1, False)):
        entry = canonical(json.loads(one[1]) | {field: number})
        assert within != (beyond == refusal([one[0], entry, *one[2:]]))


class FakeStream(io.BytesIO):
    """A stream of one line without an end; it keeps how much it was asked for at once."""

    def __init__(self, length: int) -> None:
        super().__init__(bytes(length))
        self.asked: list[int | None] = []

    def readline(self, size: int | None = -1, /) -> bytes:
        """So much of the line."""
        self.asked.append(size)
        return super().readline(size)


def test_a_line_without_an_end_is_not_read_whole() -> None:
    """One byte more than the longest entry is asked for; a line of just that length is looked at."""
    for length, said in (
        (LONGEST_LINE_BYTES, "Line 1 is no JSON"),
        (LONGEST_LINE_BYTES + 1, "Line 1 is longer than any entry"),
    ):
        stream = FakeStream(length)
        with pytest.raises(ImportRefused, match=said):
            read_export(stream)
        assert [LONGEST_LINE_BYTES + 1] == stream.asked
