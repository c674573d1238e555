"""One lock a printer: the sign that a run is under way, which the operating system takes back when the process ends.

A file for each printer lies in a folder beside the book. Who holds its lock works on that printer; the file says which
run it is. The lock belongs to the open file of the process (`flock`, BSD and Linux; `LockFile`, Windows), so it is gone
with the process however that ends, power cuts and kill -9 included, and no file that was left behind looks like a run.
The files themselves stay: one that is deleted while another program waits for it would let two runs in.
"""

import hashlib
import os
import re
import sys
import time
from pathlib import Path
from types import TracebackType

from commission.files.kept import OWNER_ALONE
from commission.records.tables import BookError

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

PATIENCE_S = 1.0
"""A look at a lock takes it for an instant; a run that begins in that instant tries again."""
TRY_EVERY_S = 0.02
_LOCKED_BYTE = 1 << 30
"""Windows locks bytes, and nobody else can read a locked one: this lies far behind what is written."""
_WIDTH = 512


class RunUnderWay(Exception):
    """A run on this printer is under way; the text says what to do."""


class RunLock:
    """Held for as long as a process works on one printer.

    Args:
        book: the record book's file.
        tag: the owner's name for the printer.
    """

    def __init__(self, book: Path, tag: str) -> None:
        self._book = book
        self._tag = tag
        self._handle: int | None = None

    def __enter__(self) -> "RunLock":
        """Take the lock.

        Raises:
            RunUnderWay: another process has it.
            BookError: there is no lock to be had in the book's folder.
        """
        place = lock_file(self._book, self._tag)
        try:
            place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            handle = os.open(place, os.O_RDWR | os.O_CREAT, OWNER_ALONE)
        except OSError as error:
            raise BookError(f"The lock of {self._tag} cannot be opened beside the record book: {error}.") from error
        try:
            self._wait(handle)
        except BaseException:
            os.close(handle)
            raise
        self._handle = handle
        self.carry("")
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _error: BaseException | None, _trace: TracebackType | None
    ) -> None:
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None

    def carry(self, number: str) -> None:
        """Say which run it is that holds the lock."""
        if self._handle is None:
            raise RuntimeError("The lock is not held.")
        os.lseek(self._handle, 0, os.SEEK_SET)
        os.write(self._handle, number.encode().ljust(_WIDTH)[:_WIDTH] + b"\n")

    def _wait(self, handle: int) -> None:
        end = time.monotonic() + PATIENCE_S
        while not _locked(handle, self._book):
            if time.monotonic() > end:
                number = run_under_way(self._book, self._tag)
                which = f" ({number})" if number else ""
                raise RunUnderWay(
                    f"A run on {self._tag} is under way in another window or by a timer{which}. Wait until it has "
                    "ended, or end it there. This one has sent and recorded nothing."
                )
            time.sleep(TRY_EVERY_S)


def run_under_way(book: Path, tag: str) -> str:
    """The number of the run that works on the printer now; empty when none does, or none has begun yet."""
    try:
        handle = os.open(lock_file(book, tag), os.O_RDONLY)
    except OSError:
        return ""  # nobody ever held it
    try:
        if _locked(handle, book, shared=True):
            return ""
        os.lseek(handle, 0, os.SEEK_SET)
        return os.read(handle, _WIDTH).decode(errors="replace").strip()
    finally:
        os.close(handle)


def lock_file(book: Path, tag: str) -> Path:
    """Where the lock of a printer lies, whatever name or symbolic link the book was opened by."""
    plain = re.sub(r"[^A-Za-z0-9_-]+", "-", tag).strip("-")[:40]
    place = book.resolve()
    return place.with_name(f"{place.name}.runs") / f"{plain}-{hashlib.sha256(tag.encode()).hexdigest()[:8]}.lock"


def _locked(handle: int, book: Path, *, shared: bool = False) -> bool:
    """Take the lock if nobody else has it; whether it was taken. It goes back when the file is closed.

    Args:
        handle: the open lock file.
        book: named where the file system knows no locks.
        shared: whether others may take it in the same way meanwhile.
    """
    try:
        if sys.platform == "win32":
            os.lseek(handle, _LOCKED_BYTE, os.SEEK_SET)
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(handle, (fcntl.LOCK_SH if shared else fcntl.LOCK_EX) | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    except OSError as error:
        raise BookError(
            f"The folder of the record book {book} gives no locks ({error.strerror}). Keep the book on a disk of this "
            "computer: --book names another place."
        ) from error
    return True
