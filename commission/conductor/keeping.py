"""Writes the files a procedure asks for, whole or not at all."""

import hashlib
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from commission.asking.request import Keep
from commission.files.book_file import is_open_book
from commission.files.output import keep_new


@dataclass(frozen=True)
class KeptFile:
    """A file that was written; the digest is SHA-256 of its bytes."""

    path: Path
    sha256: str
    bytes_written: int


def fingerprint(path: str) -> dict[str, Any] | None:
    """Name, place, SHA-256 and size of a file, streamed; None when it cannot be read."""
    try:
        place = Path(path).expanduser().resolve()
        if not place.is_file() or is_open_book(place):
            return None
        with place.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
            return {"name": place.name, "place": str(place.parent), "sha256": digest, "bytes": file.tell()}
    except (OSError, ValueError, RuntimeError):
        return None


def keep_file(request: Keep, folder: Path) -> KeptFile:
    """Write the file whole or not at all; an older file of the same name is kept, and the new one gets a number.

    Raises:
        OutputError: it cannot be written.
    """
    data = request.text.encode("utf-8")
    name = re.sub(r"[^A-Za-z0-9._-]+", "-", request.name).strip("-.") or "file"
    return KeptFile(keep_new(folder, name, data), hashlib.sha256(data).hexdigest(), len(data))
