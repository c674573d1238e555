"""Reads a file of tables that a person wrote; whatever is wrong with it is said with its place."""

import re
import tomllib
from pathlib import Path

# Python turns no more digits into a number (its documentation, "Integer string conversion length limitation").
_TOO_LONG = re.compile(r"[0-9_]{4300}")


class NotReadable(Exception):
    """The file cannot be read; the text says why and what to do."""


def read_tables(path: Path) -> dict[str, object]:
    """The tables of a TOML file.

    Raises:
        NotReadable: it is not there, or is no TOML; the text names the file and the place.
    """
    text = ""
    try:
        text = path.read_text(encoding="utf-8")
        return tomllib.loads(text)
    except OSError as unreadable:
        raise NotReadable(f"{path}: cannot be read ({unreadable.strerror}). Check the path.") from unreadable
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as malformed:
        raise NotReadable(f"{path}: is not valid TOML ({malformed}). Correct that line.") from malformed
    except (ValueError, RecursionError) as beyond:  # a number or a nesting beyond what the language takes
        raise NotReadable(f"{path}: is not readable{_place(text)} ({beyond}). Correct that.") from beyond


def _place(text: str) -> str:
    """Where a number stands that is too long to be read."""
    lines = (number for number, line in enumerate(text.split("\n"), 1) if _TOO_LONG.search(line))
    return "".join(f" at line {number}" for number in list(lines)[:1])
