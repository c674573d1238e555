"""Where the book is kept unless the operator says otherwise, and whether it is read here or from the shared one."""

import os
from collections.abc import Mapping
from pathlib import Path

from commission.command_lines import SYNC
from commission.records.refused import BookError
from commission.records.shared.address import WORD, SharedAddress, address_in, is_address, usual_address

VARIABLE = "COMMISSION_BOOK"
Place = Path | SharedAddress
"""A book's file, or the address of a shared book."""


def book_path(named: Place | None, environment: Mapping[str, str] = os.environ) -> Path:
    """The file named on the command line, else the one in the environment, else one in the user's data folder.

    Raises:
        BookError: the shared book is named: nothing is written there before it stands in the book of this bench.
    """
    place = reading_place(named, environment)
    if isinstance(place, SharedAddress):
        raise BookError(
            "A run and a note are written into the book of this bench first, and carried to the shared one by "
            f"`{SYNC}`. Name a file with --book."
        )
    return place


def reading_place(named: Place | None, environment: Mapping[str, str] = os.environ) -> Place:
    """The same for who only reads: it may be the shared book.

    Raises:
        BookError: the word for the usual shared book is given, and none is named in the environment.
    """
    if named is not None:
        return named
    if environment.get(VARIABLE):
        return place_in(environment[VARIABLE], environment) or Path(environment[VARIABLE]).expanduser()
    from platformdirs import user_data_path

    return user_data_path("commission", appauthor=False) / "record-book.sqlite3"


def place_in(text: str, environment: Mapping[str, str] = os.environ) -> SharedAddress | None:
    """The shared book that a text names, by its address or by the word for the usual one; None for a file's name.

    Raises:
        BookError: the word is given, and no shared book is named in the environment.
    """
    if is_address(text):
        return SharedAddress(text)
    if text != WORD:
        return None
    try:
        return address_in(usual_address(environment))
    except ValueError as wrong:
        raise BookError(f"`{WORD}` stands for the address in $COMMISSION_SHARED, which has none: {wrong}.") from wrong


def mirror_path(address: SharedAddress) -> Path:
    """Where this computer keeps its copy of a shared book: in the user's folder for what can be fetched again."""
    from platformdirs import user_cache_path

    return user_cache_path("commission", appauthor=False) / "shared" / address.key / "book.sqlite3"
