"""Long lines where a person reads them: on a terminal they end between words, into a pipe or file they stay whole."""

import shutil
import textwrap
from typing import TextIO


def for_reader(stream: TextIO, text: str, hanging: str) -> str:
    """The text as this stream shows it best.

    Args:
        stream: where it goes.
        text: one line or several.
        hanging: what stands before the second line that a line became, and before those after it; see `folded`.
    """
    if not stream.isatty():
        return text
    columns = shutil.get_terminal_size().columns
    return "\n".join(line for part in text.split("\n") for line in folded(part, columns, hanging))


def folded(text: str, columns: int, hanging: str) -> list[str]:
    """The text in lines of so many columns; a text that fits is left as it is, blanks and all.

    Without a `hanging` the second line begins where the first one does. A word that is longer stays whole, so that a
    path or an address can be copied.
    """
    if len(text) <= columns:
        return [text]
    first = text[: len(text) - len(text.lstrip())]
    return textwrap.wrap(
        text.strip(),
        max(columns, len(hanging) + 20),
        initial_indent=first,
        subsequent_indent=hanging or first,
        break_on_hyphens=False,
        break_long_words=False,
    )
