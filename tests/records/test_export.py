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
