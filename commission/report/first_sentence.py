"""Where a sentence of the record ends."""

import re

ENDS = (".", "!", "?")
BETWEEN = re.compile(r"(?<=[.!?]) +(?=[A-Z])")


def first_sentence(text: str) -> str:
    """The first sentence of a text, with its stop; empty for an empty text."""
    first = BETWEEN.split(text.strip())[0]
    return first if not first or first.endswith(ENDS) else f"{first}."
