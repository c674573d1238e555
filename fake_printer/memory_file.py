"""Keeps the printer's memory part in a file between runs of the process: the bytes of the part, nothing else."""

import os
from pathlib import Path

from fake_printer.memory import Memory

_SMALLEST_BYTES = 8
_LARGEST_BYTES = 65536


class MemoryFileError(Exception):
    """The file cannot be used; the text says what to do."""


class MemoryFile:
    """The file behind a memory part.

    Attributes:
        found: the part as it was left in the file; None when there was no file yet.
    """

    def __init__(self, path: Path) -> None:
        """Read the file, if it is there.

        Raises:
            MemoryFileError: the file is no memory part or cannot be read.
        """
        self._path = path
        self.found = Memory(self._load()) if path.exists() else None
        self._written: bytes | None = None

    def keep(self, memory: Memory) -> None:
        """Take the part as it is now for what need not be written."""
        self._written = memory.image

    def _load(self) -> bytes:
        try:
            image = self._path.read_bytes()
        except OSError as error:
            raise MemoryFileError(f"{self._path} cannot be read: {error.strerror}. Choose another file.") from error
        if not _SMALLEST_BYTES <= len(image) <= _LARGEST_BYTES:
            raise MemoryFileError(
                f"{self._path} holds {len(image)} bytes and is no memory of a simulated printer. "
                "Choose another file, or delete it to begin with a blank memory."
            )
        return image

    def save_changes(self, memory: Memory) -> None:
        """Write the part out if it has changed since `keep`; the file is replaced whole.

        Raises:
            MemoryFileError: it cannot be written.
        """
        image = memory.image
        if image == self._written:
            return
        fresh = self._path.with_name(f"{self._path.name}.{os.getpid()}")
        try:
            fresh.write_bytes(image)
            fresh.replace(self._path)
        except OSError as error:
            raise MemoryFileError(f"{self._path} cannot be written: {error.strerror}. Choose another file.") from error
        self._written = image
