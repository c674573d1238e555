"""Writes the files a procedure asks for, whole or not at all."""

import hashlib
import os
import re
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from commission.procedure.request import Keep


@dataclass(frozen=True)
class Kept:
    """A file that was written; the digest is SHA-256 of its bytes."""

    path: Path
    sha256: str
    bytes_written: int


def fingerprint(path: str) -> dict[str, Any] | None:
    """Name, place, SHA-256 and size of a file, streamed; None when it cannot be read."""
    try:
        place = Path(path).expanduser().resolve()
        if not place.is_file():
            return None
        with place.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
            return {"name": place.name, "place": str(place.parent), "sha256": digest, "bytes": file.tell()}
    except (OSError, ValueError, RuntimeError):
        return None


def keep_file(request: Keep, folder: Path) -> Kept:
    """Write the file beside its final place and rename it, so that a half-written one never carries the name.

    An older file of the same name is kept: the new one gets a number.

    Raises:
        OSError: it cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    data = request.text.encode("utf-8")
    path = _free(folder, re.sub(r"[^A-Za-z0-9._-]+", "-", request.name).strip("-.") or "file")
    with tempfile.NamedTemporaryFile(dir=folder, prefix=path.name, delete=False) as draft:
        draft.write(data)
        draft.flush()
        os.fsync(draft.fileno())
    Path(draft.name).chmod(0o644)
    Path(draft.name).replace(path)
    return Kept(path, hashlib.sha256(data).hexdigest(), len(data))


def _free(folder: Path, name: str) -> Path:
    stem, dot, ending = name.partition(".")
    path, count = folder / name, 1
    while path.exists():
        count += 1
        path = folder / f"{stem}-{count}{dot}{ending}"
    return path
