"""Text from outside is data: everything that could steer a screen is made visible here, once, at the boundary.

Two functions, because two kinds of text come in. A line from the printer is reduced to printable ASCII, so that nothing
that decides ever sees a look-alike letter. A name from the computer (a file, a device description) keeps its letters
and loses only what does not print: controls, bidirectional overrides, zero-width marks, lone surrogates.
"""

# C0, DEL and C1. The last group cannot come out of an ASCII decoder; it is listed so that the table is whole by itself.
_VISIBLE = {code: f"\\x{code:02x}" for code in (*range(0x20), *range(0x7F, 0xA0))}


def clean_bytes(data: bytes) -> str:
    r"""A device line as printable ASCII; every other byte is written as `\xNN`. Never fails."""
    return data.decode("ascii", "backslashreplace").translate(_VISIBLE)


def clean_text(text: str) -> str:
    r"""Text from the computer with every unprintable character written as its escape. Never fails."""
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else ascii(letter)[1:-1] for letter in text)
