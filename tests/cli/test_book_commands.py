"""`commission book` and `commission note` as a person types them."""

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from commission.cli import main
from commission.cli.background import twins_of
from commission.evidence.findings.meeting import LeftOut
from commission.evidence.runs import Note
from commission.link.discover import FoundPort
from commission.records.book import Book
from commission.records.heads import VARIABLE
from tests.records.books import Workshop
from tests.support.fake_time import FakeClock

RUN = "bench-3/2031-03-14/1"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the book of a workshop in which bench-3 passed on 14 March 2031."""
    workshop = Workshop(tmp_path)
    workshop.whole_run(RUN)
    workshop.find(RUN, LeftOut, phase="reserve", reason="x")
    workshop.book.close()
    return tmp_path


def call(folder: Path, *words: str) -> Result:
    """The command with that folder's book; the heads that were seen of it are kept beside it."""
    heads = {VARIABLE: str(folder / "heads.jsonl")}
    return CliRunner().invoke(main, [*words, "--book", str(folder / "book.sqlite3")], env=heads)


def test_the_list_tells_runs_and_notes(folder: Path) -> None:
    """Each run is a line with its verdict, each note another."""
    call(folder, "note", "bench-3", "dusty sensor", "--by", "R. Okafor")
    said = call(folder, "book", "list", "bench-3").output

    assert f"2031-03-14 09:26  {RUN}  install  pass  (complete)" in said
    assert "bench-3  note, remark: dusty sensor" in said


def test_an_export_replaces_only_an_earlier_one_of_the_same_book(folder: Path, tmp_path: Path) -> None:
    """A later export takes the place of an earlier one; any other file is left as it is, with what to do."""
    file = tmp_path / "out.jsonl"
    first = call(folder, "book", "export", str(file))
    call(folder, "note", "bench-3", "dusty sensor", "--by", "R. Okafor")
    later = call(folder, "book", "export", str(file))
    newest = file.read_bytes()
    (tmp_path / "elsewhere").mkdir()
    Workshop(tmp_path / "elsewhere").whole_run("bench-4/2031-03-15/1")
    other = call(tmp_path / "elsewhere", "book", "export", str(file))
    (tmp_path / "notes.txt").write_text("keep me")
    foreign = call(folder, "book", "export", str(tmp_path / "notes.txt"))

    assert [0, 0, 2, 2] == [done.exit_code for done in (first, later, other, foreign)]
    assert "holds entries that are not in this book. Give another name." in other.output
    assert "it is no export of a record book that this tool wrote" in " ".join(foreign.output.split())
    assert newest == file.read_bytes()
    assert "keep me" == (tmp_path / "notes.txt").read_text()


def test_due_ends_with_the_exit_code_of_its_worst(folder: Path) -> None:
    """In date it is 0, overdue it is 1, and a nuisance trip makes it due at once."""
    assert 0 == call(folder, "book", "due", "--on", "2031-03-20").exit_code
    assert 1 == call(folder, "book", "due", "--on", "2032-03-20").exit_code
    noted = call(folder, "note", "bench-3", "paused at two", "--what", "nuisance-trip")
    assert "due at once" in noted.output
    assert 1 == call(folder, "book", "due", "--on", "2031-03-20").exit_code


def test_due_writes_a_calendar(folder: Path) -> None:
    """The dates go into a file that begins as the standard says (RFC 5545)."""
    call(folder, "book", "due", "--on", "2031-03-20", "--ics", str(folder / "due.ics"))

    assert (folder / "due.ics").read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")


def test_show_tells_a_run_or_the_trends_of_a_printer(folder: Path) -> None:
    """A run's number shows what was found; a tag shows how the values went."""
    assert "polarity" in call(folder, "book", "show", RUN).output
    assert "Misread trials" in call(folder, "book", "show", "bench-3").output
    every = call(folder, "book", "show", RUN, "--all").output
    assert "run_ended" in every
    assert max(map(len, every.splitlines())) < 160, "an entry without a sentence of its own is cut, and no wall of JSON"


def test_a_book_goes_elsewhere_and_stays_sound(folder: Path, tmp_path: Path) -> None:
    """Exported and imported, the book verifies, also against its newest digest."""
    ((_, digest),) = Book(folder / "book.sqlite3", FakeClock()).heads()
    exported = call(folder, "book", "export", str(tmp_path / "out.jsonl"))
    elsewhere = tmp_path / "elsewhere"
    imported = call(elsewhere, "book", "import", str(tmp_path / "out.jsonl"))
    verified = call(elsewhere, "book", "verify", "--digest", digest.digest[:16])

    assert (0, 0, 0) == (exported.exit_code, imported.exit_code, verified.exit_code)
    assert "6 entries imported" in imported.output
    assert f"Found: the digest {digest.digest[:16]}. Entry 6, the newest of run {RUN}" in verified.output


def test_a_digest_the_book_does_not_hold_ends_with_one(folder: Path) -> None:
    """A cut book is told by the digests on reports: each is looked for, and the book's end is named."""
    ((_, newest),) = Book(folder / "book.sqlite3", FakeClock()).heads()
    found = call(folder, "book", "verify", "--digest", newest.digest, "--digest", "0" * 64)

    assert 1 == found.exit_code
    assert f"Found: the digest {newest.digest}." in found.output
    assert f"The book ends with entry 6 (run {RUN}, " in found.output
    assert "stood behind it, and was cut off" in found.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("book", "list", "bench-9"), "On record: bench-3"),
        (("book", "show", "bench-9"), "No run and no printer bench-9"),
        (("book", "verify", "--digest", "abc"), "64 hexadecimal digits"),
        (("note", "bench-9", "x"), "On record: bench-3"),
        (("note", "bench-3", " "), "give its text"),
        (("note", "bench-3", "x", "--about", "2"), "belong together"),
        (("note", "bench-3", "x", "--what", "correction"), "belong together"),
        (("note", "bench-3", "x", "--what", "correction", "--about", "99"), "no entry 99"),
        (("check", "bench-3", "--port", "/dev/null", "--unattended", "--full"), "needs hands"),
        (("check", "bench-3", "--port", "/dev/null", "--unattended", "--prove"), "somebody must be there"),
    ],
)
def test_wrong_usage_says_what_to_do(folder: Path, words: tuple[str, ...], said: str) -> None:
    """What cannot be done ends with exit code 2, one clear sentence, and an unchanged book."""
    found = call(folder, *words)

    assert 2 == found.exit_code
    assert said in " ".join(found.output.split())
    assert 6 == len(list(Book(folder / "book.sqlite3", FakeClock()).rows()))


def test_a_book_that_is_not_there_is_not_begun(tmp_path: Path) -> None:
    """Looking into a book that does not exist creates none."""
    found = call(tmp_path, "book", "list")

    assert 9 == found.exit_code
    assert "There is no record book" in found.output
    assert not (tmp_path / "book.sqlite3").exists()


def test_a_correction_names_its_entry(folder: Path) -> None:
    """A correction is a new entry that points at the old one."""
    found = call(folder, "note", "bench-3", "it was bench-4", "--what", "correction", "--about", "2")

    assert 0 == found.exit_code
    newest = list(Book(folder / "book.sqlite3", FakeClock()).records(Note))[-1].entry
    assert ("correction", 2) == (newest.what, newest.about)


def test_text_in_the_book_cannot_steer_the_terminal(folder: Path) -> None:
    """Escape sequences in a note are shown, not obeyed."""
    call(folder, "note", "bench-3", "a\x1b[2Jb")

    assert "\x1b" not in call(folder, "book", "list").output


def test_ports_with_the_same_chip_and_no_serial_number_are_twins() -> None:
    """A port with a serial number of its own has no twin."""
    ports = [
        FoundPort("/dev/ttyUSB0", usb_id="fffe:0001", location="1-1"),
        FoundPort("/dev/ttyUSB1", usb_id="fffe:0001", location="1-2"),
        FoundPort("/dev/ttyACM0", usb_id="fffe:0002", serial_number="SN-0001", location="1-3"),
        FoundPort("/dev/ttyACM1", usb_id="fffe:0002", serial_number="SN-0002", location="1-4"),
    ]

    assert ["1-2"] == [twin.location for twin in twins_of(ports[0].identity, ports)]
    assert () == twins_of(ports[2].identity, ports)
