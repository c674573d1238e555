"""Keeps a small file of ours whole or not at all, for its owner alone."""

import os
import secrets
from contextlib import suppress
from pathlib import Path

OWNER_ALONE = 0o600


def keep_whole(here: Path, text: str) -> None:
    """Put the text in the place of what is there; it is on the disk when this is over.

    Raises:
        OSError: it cannot be written; what was there before stands.
    """
    draft = here.with_name(f".{here.name}.{secrets.token_hex(4)}.new")
    try:
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, OWNER_ALONE)
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        draft.replace(here)
    finally:
        with suppress(OSError):
            draft.unlink()
