"""One way in which a record book is altered, and by what means there are such ways."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

BY_SQL, IN_FILE, IN_SCHEMA, BY_DIGEST = "by SQL", "in the file", "in the schema", "cut or worked out anew"


@dataclass(frozen=True)
class Alteration:
    """One way.

    Attributes:
        name: what is done, and where.
        group: by what means.
        alter: does it to the file.
        head: digest of the newest entry before it, where only that can tell; else empty.
    """

    name: str
    group: str
    alter: Callable[[Path], None]
    head: str = ""

    @property
    def needs_digest(self) -> bool:
        """Whether the book alone cannot show it."""
        return bool(self.head)
