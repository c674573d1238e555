"""Reads a saved console capture, up to the length that a capture has: all of it is kept in memory."""

from pathlib import Path

import click

from commission.dialect.sanitise import clean_text

LARGEST_CAPTURE_BYTES = 4 * 1024 * 1024
"""The longest report of settings or pins has some ten kilobytes; a greater file was given by mistake."""
MOST_LINES = 50_000
"""A console that was left open for a day, with a temperature every two seconds, stays below this."""
TEXT_MARKS = {b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16", b"\xef\xbb\xbf": "utf-8-sig"}
"""What some editors put before the text they save."""


def read_capture(path: Path, hint: str) -> bytes:
    """The bytes of a capture, without an editor's mark; of `-`, those of the standard input.

    Args:
        path: as it was typed.
        hint: the option or argument it was typed for.

    Raises:
        click.BadParameter: it cannot be read, or is no capture by its length.
    """
    name = name_of(path)
    try:
        with click.open_file(str(path), "rb") as stream:
            data = bytes(stream.read(LARGEST_CAPTURE_BYTES + 1))
    except OSError as failure:
        reason = failure.strerror or type(failure).__name__
        raise click.BadParameter(f"{name} cannot be read: {reason}.", param_hint=hint) from failure
    if len(data) > LARGEST_CAPTURE_BYTES:
        limit = f"{LARGEST_CAPTURE_BYTES // 2**20} MiB"
        raise click.BadParameter(f"{name} is larger than {limit}: {_GIVE_LESS}", param_hint=hint)
    if max(data.count(b"\n"), data.count(b"\r")) > MOST_LINES:
        raise click.BadParameter(f"{name} has more than {MOST_LINES:,} lines: {_GIVE_LESS}", param_hint=hint)
    return _plain_bytes(data, name, hint)


def _plain_bytes(data: bytes, name: str, hint: str) -> bytes:
    """The bytes without the mark that some editors put before their text, in the encoding of the printer's replies."""
    for mark, encoding in TEXT_MARKS.items():
        if data.startswith(mark):
            try:
                return data.decode(encoding).encode("utf-8")
            except UnicodeDecodeError as failure:
                problem = f"{name} begins as {encoding} text but is damaged. Save it as plain text."
                raise click.BadParameter(problem, param_hint=hint) from failure
    return data


_GIVE_LESS = "give only the part that holds the printer's replies."


def name_of(path: Path) -> str:
    """How a capture is called in a sentence."""
    return "The standard input" if str(path) == "-" else clean_text(str(path))
