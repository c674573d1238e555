"""What an output option may write over, and that a file is the old one or the new one, never half of either."""

import os
import stat
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

import pytest

from commission.evidence.talk import Told
from commission.files import kinds
from commission.files.kinds import CALENDAR, EXPORT, PICTURE, Kind, picture
from commission.files.output import OutputError, OutputRefused, keep_new, require_free, write_output
from commission.records.book import Book
from tests.support.fake_time import FakeClock

posix = pytest.mark.skipif(os.name == "nt", reason="links, masks and devices of POSIX systems")
OLD, NEW = picture("<svg>old</svg>\n"), picture("<svg>new</svg>\n")


@pytest.fixture(name="book")
def _book(tmp_path: Path) -> Path:
    """A closed record book with one entry."""
    place = tmp_path / "book.sqlite3"
    with Book(place, FakeClock()) as book:
        book.append("r1", Told())
    return place


@contextmanager
def mask(bits: int) -> Iterator[None]:
    """The user's mask, put back afterwards."""
    before = os.umask(bits)
    try:
        yield
    finally:
        os.umask(before)


def mode(path: Path) -> int:
    """The file's permissions."""
    return stat.S_IMODE(path.stat().st_mode)


def test_a_new_file_is_written_whole(tmp_path: Path) -> None:
    """The file holds the data, and nothing else is left in the folder."""
    write_output(tmp_path / "path.svg", NEW, PICTURE)

    assert NEW == (tmp_path / "path.svg").read_bytes()
    assert ["path.svg"] == [path.name for path in tmp_path.iterdir()]


def test_a_file_of_its_own_is_replaced(tmp_path: Path) -> None:
    """A timer can draw the same picture again and again."""
    place = tmp_path / "path.svg"
    write_output(place, OLD, PICTURE)
    write_output(place, NEW, PICTURE)

    assert NEW == place.read_bytes()
    assert ["path.svg"] == [path.name for path in tmp_path.iterdir()]


@pytest.mark.parametrize("there", [b"", b"# Readme\n", b"<svg>theirs</svg>\n", b"BEGIN:VCALENDAR\r\n"])
def test_any_other_file_is_left_alone(tmp_path: Path, there: bytes) -> None:
    """A file without the mark is refused with its name and what to do, an empty one too."""
    place = tmp_path / "README.md"
    place.write_bytes(there)

    with pytest.raises(OutputRefused, match=r"README\.md is there already, and it is no picture that this tool wrote"):
        write_output(place, NEW, PICTURE)
    with pytest.raises(OutputRefused):
        require_free(place, PICTURE)
    assert there == place.read_bytes()


def test_a_file_of_another_kind_is_left_alone(tmp_path: Path) -> None:
    """An export is not replaced by a picture, though this tool wrote both."""
    place = tmp_path / "out"
    place.write_text('{"format":"commission-record-book","version":1}\n')

    with pytest.raises(OutputRefused, match="no picture"):
        write_output(place, NEW, PICTURE)
    assert EXPORT.is_ours(place.read_bytes())


@pytest.mark.parametrize("kind", [CALENDAR, PICTURE, EXPORT], ids=lambda kind: kind.name)
def test_a_record_book_is_never_written_over(book: Path, kind: Kind) -> None:
    """Whatever is to be written, the book is refused and stays as it is."""
    before = book.read_bytes()

    with pytest.raises(OutputRefused, match="is a record book: nothing is written over it"):
        write_output(book, b"anything", kind)
    assert before == book.read_bytes()


@posix
@pytest.mark.parametrize("hard", [True, False])
def test_a_link_to_a_book_is_the_book(book: Path, tmp_path: Path, *, hard: bool) -> None:
    """Neither a second name nor a symbolic link leads around the refusal."""
    link, before = tmp_path / "due.ics", book.read_bytes()
    if hard:
        link.hardlink_to(book)
    else:
        link.symlink_to(book)

    with pytest.raises(OutputRefused, match="record book"):
        write_output(link, b"anything", CALENDAR)
    assert before == book.read_bytes()


@posix
def test_a_stream_into_a_book_is_the_book(book: Path) -> None:
    """An output sent by the shell to the end of a book is refused as well."""
    before = book.read_bytes()
    with book.open("ab") as end, pytest.raises(OutputRefused, match="record book"):
        write_output(Path(f"/dev/fd/{end.fileno()}"), b"anything", CALENDAR)

    assert before == book.read_bytes()


@pytest.mark.parametrize("ending", ["-wal", "-shm", "-journal"])
def test_what_lies_beside_a_book_is_left_alone(book: Path, ending: str) -> None:
    """The names that the database gives to its own files are refused, there or not."""
    with pytest.raises(OutputRefused, match="belongs to a record book"):
        write_output(book.with_name(book.name + ending), NEW, PICTURE)

    assert not book.with_name(book.name + ending).exists()


@posix
def test_a_link_to_a_file_of_its_own_stays_a_link(tmp_path: Path) -> None:
    """What the link leads to is replaced; the link is not."""
    place, link = tmp_path / "path.svg", tmp_path / "link.svg"
    write_output(place, OLD, PICTURE)
    link.symlink_to(place)
    write_output(link, NEW, PICTURE)

    assert NEW == place.read_bytes()
    assert link.is_symlink()


@posix
@pytest.mark.parametrize(("bits", "expected"), [(0o022, 0o644), (0o077, 0o600), (0o027, 0o640)])
def test_the_users_mask_is_obeyed(tmp_path: Path, bits: int, expected: int) -> None:
    """A new file, a replaced one and a kept one get what the mask leaves of read and write for all."""
    place = tmp_path / "path.svg"
    with mask(bits):
        write_output(place, OLD, PICTURE)
        new = mode(place)
        write_output(place, NEW, PICTURE)
        kept = keep_new(tmp_path, "as-found.txt", b"text")

    assert (expected, expected, expected) == (new, mode(place), mode(kept))


@posix
def test_a_private_file_stays_private(tmp_path: Path) -> None:
    """What its owner has closed to others is not opened by being drawn again."""
    place = tmp_path / "path.svg"
    write_output(place, OLD, PICTURE)
    place.chmod(0o600)
    with mask(0o022):
        write_output(place, NEW, PICTURE)

    assert 0o600 == mode(place)


@posix
def test_a_pipe_is_written_into(tmp_path: Path) -> None:
    """A named pipe gets the data and stays a pipe."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    heard: list[bytes] = []
    reader = threading.Thread(target=lambda: heard.append(pipe.read_bytes()))
    reader.start()
    write_output(pipe, NEW, PICTURE)
    reader.join(10)

    assert [NEW] == heard
    assert pipe.is_fifo()


def in_a_process(code: str, where: Path, stdout: IO[str] | int = subprocess.PIPE) -> str:
    """Run lines of Python that write outputs, in that folder; returns what they print, if it goes nowhere else."""
    lines = f"""
from pathlib import Path
from commission.files.kinds import PICTURE, picture
from commission.files.output import OutputError, write_output
{code}
"""
    return subprocess.run([sys.executable, "-c", lines], stdout=stdout, text=True, check=True, cwd=where).stdout


@posix
@pytest.mark.parametrize("name", ["/dev/stdout", "/dev/fd/1", "/proc/self/fd/1"])
def test_the_own_output_goes_on_where_it_was(tmp_path: Path, name: str) -> None:
    """What was said before stays, also where the shell has sent the output into a file."""
    if name.startswith("/proc") and not Path("/proc/self/fd").exists():
        pytest.skip("this system has no /proc")
    code = f'print("said before"); write_output(Path("{name}"), picture("<svg/>"), PICTURE)'
    with (tmp_path / "out").open("w") as out:
        in_a_process(code, tmp_path, stdout=out)

    assert f"said before\n{kinds.PICTURE_MARK}\n<svg/>" == (tmp_path / "out").read_text()


@posix
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_a_full_device_is_said_to_be_full() -> None:
    """A device is written into, and what goes wrong there is told."""
    with pytest.raises(OutputError, match=r"^/dev/full cannot be written: No space left on device\.$"):
        write_output(Path("/dev/full"), NEW, PICTURE)


@posix
def test_a_full_disk_leaves_the_older_file_whole(tmp_path: Path) -> None:
    """When the new file does not fit, the older one is as it was, nothing else is left, and it is said so.

    The disk is one that takes 1000 bytes a file: the system's limit for a process, which fails in the middle of a file
    as a full disk does.
    """
    place = tmp_path / "path.svg"
    write_output(place, OLD, PICTURE)
    said = in_a_process(
        """
import resource
resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))
try:
    write_output(Path("path.svg"), picture("<svg>" + 5000 * "x" + "</svg>"), PICTURE)
except OutputError as error:
    print(error)
""",
        tmp_path,
    )

    assert "path.svg cannot be written: File too large. The older file is as it was.\n" == said
    assert OLD == place.read_bytes()
    assert ["path.svg"] == [path.name for path in tmp_path.iterdir()]


def test_a_folder_is_no_place_for_a_file(tmp_path: Path) -> None:
    """A folder named as an output, and a file in a folder that is not there, end in a sentence."""
    with pytest.raises(OutputRefused, match=r"is a folder\. Give the name of a file\."):
        write_output(tmp_path, NEW, PICTURE)
    with pytest.raises(OutputError, match=r"path\.svg cannot be written: No such file or directory\."):
        write_output(tmp_path / "none" / "path.svg", NEW, PICTURE)


def test_a_kept_file_replaces_none(tmp_path: Path) -> None:
    """Where the name is taken the new file gets a number, and each holds what was written into it."""
    kept = [keep_new(tmp_path, "as-found.txt", text) for text in (b"one", b"two", b"three")]

    assert ["as-found.txt", "as-found-2.txt", "as-found-3.txt"] == [path.name for path in kept]
    assert [b"one", b"two", b"three"] == [path.read_bytes() for path in kept]
    assert 3 == len(list(tmp_path.iterdir()))
