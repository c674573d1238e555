"""Writes what an option names as its output: the only door through which the tool writes over a file.

What is there already decides:

| there | done |
|---|---|
| nothing | a draft is written beside it and gets the name only when it is whole |
| a file of the same kind that this tool made | replaced in the same way: old or new, never half of either |
| a pipe, a terminal or another stream | written into |
| a record book, or a file that belongs to one | refused, through whatever name or link it is reached |
| anything else | refused: a disk, a folder, and every file that does not bear the mark of its kind |

The permissions are those that the user's mask gives to a new file, and never wider than those of the file replaced.
"""

import os
import re
import secrets
import stat
import sys
from contextlib import suppress
from io import FileIO
from pathlib import Path

from commission.files.book_file import belongs_to_book, is_book, is_open_book
from commission.files.kinds import HEAD_BYTES, Kind

_OWN_STREAM = re.compile(r"/dev/(?:stdout|stderr|fd/\d+)|/proc/(?:self|thread-self)/fd/\d+")
_STREAM_NUMBERS = {"stdout": 1, "stderr": 2}


class OutputError(Exception):
    """An output was not written; the text says why, and what became of an older file."""


class OutputRefused(OutputError):
    """What is there already must not be written over; the text says what to do."""


def write_output(path: Path, data: bytes, kind: Kind) -> None:
    """Write an output whole, or leave everything as it is.

    Args:
        path: as the user named it.
        data: all of it, with the mark of its kind.
        kind: what it is, and what it may replace.

    Raises:
        OutputRefused: something else is there.
        OutputError: it cannot be written.
    """
    try:
        stream = _own_stream(path)
        if stream is not None:
            _require_no_book(path)
            _into_stream(stream, data)
        elif _is_regular(path, kind):
            _replace(path.resolve(), data, kind)
        else:
            with path.open("wb", buffering=0) as pipe:
                _into_file(pipe, data)
    except OSError as error:
        raise OutputError(_not_written(path, error)) from error


def require_free(path: Path, kind: Kind) -> None:
    """Refuse beforehand what `write_output` would refuse.

    Raises:
        OutputRefused: something else is there.
        OutputError: it cannot be looked at.
    """
    try:
        if _own_stream(path) is None:
            _is_regular(path, kind)
    except OSError as error:
        raise OutputError(_not_written(path, error)) from error


def make_folder(folder: Path) -> None:
    """Make a folder for outputs, and those above it, where they are not there.

    Raises:
        OutputError: it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"The folder {folder} cannot be made: {error.strerror or error}.") from error


def keep_new(folder: Path, name: str, data: bytes) -> Path:
    """Write a file that replaces none: where the name is taken, it gets a number. Returns where it is.

    Raises:
        OutputError: it cannot be written.
    """
    stem, dot, ending = name.partition(".")
    path, count = folder / name, 1
    make_folder(folder)
    try:
        draft = _draft(path, data)
        try:
            while not _put_new(draft, path):
                count += 1
                path = folder / f"{stem}-{count}{dot}{ending}"
        finally:
            draft.unlink(missing_ok=True)
    except OSError as error:
        raise OutputError(_not_written(path, error)) from error
    return path


# What is there ---------------------------------------------------------------------------------------------------


def _own_stream(path: Path) -> int | None:
    """The number of the open stream that the name stands for; None for any other name.

    Opened by its name it would be opened anew: cut to nothing, and written from its beginning.
    """
    name = path.as_posix()
    if not _OWN_STREAM.fullmatch(name):
        return None
    last = name.rpartition("/")[2]
    return _STREAM_NUMBERS.get(last) or int(last)


def _is_regular(path: Path, kind: Kind) -> bool:
    """Whether it is, or will be, a regular file; False for a stream.

    Raises:
        OutputRefused: it must not be written over.
    """
    if belongs_to_book(path.resolve()):
        raise OutputRefused(f"{path} belongs to a record book. Give another name.")
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        return True
    if stat.S_ISREG(mode):
        _require_ours(path, kind)
        return True
    if stat.S_ISDIR(mode) or stat.S_ISBLK(mode):
        what = "a folder" if stat.S_ISDIR(mode) else "a disk"
        raise OutputRefused(f"{path} is {what}. Give the name of a file.")
    return False


def _require_ours(path: Path, kind: Kind) -> None:
    _require_no_book(path)
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    if not kind.is_ours(head):
        raise OutputRefused(
            f"{path} is there already, and it is no {kind.name} that this tool wrote. Give another name, or move that "
            "file away first."
        )
    if not os.access(path, os.W_OK):
        raise OutputRefused(f"{path} is write-protected. Give another name, or lift the protection.")


def _require_no_book(path: Path) -> None:
    """Refuse a record book, by whatever name or link it is reached; a stream can lead into one too."""
    head, ours = b"", False
    with suppress(OSError):  # what cannot be read is refused, or written to, for what it is otherwise
        ours = is_open_book(path)  # not to be opened once more: see book_file
        if not ours and stat.S_ISREG(path.stat().st_mode):
            with path.open("rb") as file:
                head = file.read(HEAD_BYTES)
    if ours or is_book(head):
        raise OutputRefused(f"{path} is a record book: nothing is written over it. Give another name.")


# Writing ---------------------------------------------------------------------------------------------------------


def _replace(path: Path, data: bytes, kind: Kind) -> None:
    draft = _draft(path, data)
    try:
        if not path.exists() and _put_new(draft, path):
            return
        _require_ours(path, kind)  # looked at again: the draft took its time
        draft.chmod(stat.S_IMODE(draft.stat().st_mode) & stat.S_IMODE(path.stat().st_mode))
        draft.replace(path)
    finally:
        draft.unlink(missing_ok=True)


def _draft(path: Path, data: bytes) -> Path:
    """The data in a file of another name in the same folder, on the disk; nothing is left of it when that fails."""
    draft = path.with_name(f".{path.name[:100]}.{secrets.token_hex(4)}.draft")
    # 0o666 less the user's mask is what any program gives to a new file (POSIX, open)
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    try:
        with os.fdopen(handle, "wb", buffering=0) as file:
            _into_file(file, data)
            os.fsync(handle)
    except BaseException:
        draft.unlink(missing_ok=True)
        raise
    return draft


def _put_new(draft: Path, path: Path) -> bool:
    """Give the draft its name, unless there is a file of that name by now; whether it was given."""
    try:
        path.hardlink_to(draft)
    except FileExistsError:
        return False
    except OSError:
        # a file system without links: between the look and the renaming another program might still come first
        if path.exists():
            return False
        draft.replace(path)
    return True


def _into_stream(number: int, data: bytes) -> None:
    """Into an open stream of this process, behind what was said there before."""
    said = {1: sys.stdout, 2: sys.stderr}.get(number)
    if said is not None:
        said.flush()
        said.buffer.write(data)
        said.buffer.flush()
        return
    with os.fdopen(os.dup(number), "wb", buffering=0) as file:
        _into_file(file, data)


def _into_file(file: FileIO, data: bytes) -> None:
    rest = memoryview(data)
    while rest:
        rest = rest[file.write(rest) :]


def _not_written(path: Path, error: OSError) -> str:
    older = " The older file is as it was." if os.path.isfile(path) else ""  # noqa: PTH113 - raises nothing
    return f"{path} cannot be written: {error.strerror or error}.{older}"
