"""Where the book is kept unless the operator says otherwise."""

import os
from collections.abc import Mapping
from pathlib import Path

VARIABLE = "COMMISSION_BOOK"


def book_path(named: Path | None, environment: Mapping[str, str] = os.environ) -> Path:
    """The file named on the command line, else the one in the environment, else one in the user's data folder."""
    if named is not None:
        return named
    if environment.get(VARIABLE):
        return Path(environment[VARIABLE]).expanduser()
    from platformdirs import user_data_path

    return user_data_path("commission", appauthor=False) / "record-book.sqlite3"
