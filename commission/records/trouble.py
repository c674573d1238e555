"""Why the database refused, and what to do about it: what it says decides, so that the advice fits the trouble.

The words are those of SQLite (documentation, "Result and Error Codes").
"""

import sqlite3
from collections.abc import Mapping

from sqlalchemy.exc import DatabaseError

from commission.command_lines import VERIFY

NOT_OPENED = (
    "Check that the folder can be written and that the file is a record book, or name another file with --book."
)
NOT_READ = f"Look at it with `{VERIFY}`, and take a copy of it before anything else."
NOT_WRITTEN = "Check that the file and its folder can be written."

_ADVICE: Mapping[str, str] = {
    "locked": "Another program keeps it locked: wait until that is done, then try again.",
    "full": "The disk is full: free space on it, then try again.",
    "readonly": "The file, its folder or the medium is write-protected: lift that, or name another file with --book.",
    "malformed": NOT_READ,
}


REFUSALS: tuple[type[Exception], ...] = (DatabaseError, sqlite3.Error, UnicodeDecodeError)
"""What comes of a database that refuses: through SQLAlchemy; from the driver itself, where rows are read as it has
them; and where it names a damaged place in text that is none."""

REFUSALS_TO_OPEN: tuple[type[Exception], ...] = (*REFUSALS, OSError)


def reason(error: Exception) -> str:
    """What the database or the system said."""
    if isinstance(error, UnicodeDecodeError):
        return "the description of its tables is malformed"
    return str(getattr(error, "orig", None) or error)


def advice(error: Exception, otherwise: str) -> str:
    """What to do about it; `otherwise` where the words say nothing more exact."""
    said = reason(error)
    return next((what for word, what in _ADVICE.items() if word in said), otherwise)
