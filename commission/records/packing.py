"""How a row of the chain lies in the file: what is large is packed, and digests are bytes.

Nothing of it is in the chain: a digest is worked out over the payload and the raw bytes as they were. So a book of the
first format, whose rows lie there as they are, goes on in this one without a break, row beside row:

| column | first format | second format |
|---|---|---|
| `previous`, `digest` | text, 64 hexadecimal digits | 32 bytes |
| `payload` | text | text; or bytes, where it and the `raw` beside it are packed |
| `raw` | as on the wire | as on the wire where the payload is text, else packed |

Payloads are packed with a list of words that entries are made of, for most of them are short and much alike. The list
is part of the format: every book needs it as it is, so `words-1.txt` never changes. A better one is another file, and
what is packed says by which of them (RFC 1950, DICTID).
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from commission.files.deflate import packed, unpacked
from commission.records.chain import Row
from commission.records.numbering import lies

WORDS = Path(__file__).with_name("words-1.txt").read_bytes()
LEAST_GAIN = 16
"""Fewer bytes saved are not worth that no other program can read the entry."""
MOST_BYTES = 64 * 1024 * 1024
"""An entry holds at most some seconds of traffic; what unpacks to more is none."""


def stored(row: Row) -> dict[str, Any]:
    """The values of its columns."""
    digests = {"previous": _in_bytes(row.previous), "digest": _in_bytes(row.digest)}
    values: dict[str, Any] = row.fields | digests | {"sequence": lies(row)}
    payload = packed(row.payload.encode(), WORDS)
    raw = None if row.raw is None else packed(row.raw)
    gain = len(row.payload) + len(row.raw or b"") - len(payload) - len(raw or b"")
    return values if gain < LEAST_GAIN else values | {"payload": payload, "raw": raw}


def _in_bytes(digest: str) -> bytes | str:
    """A digest as bytes; a text that would not come back as it is, as an import could bring one, stays text."""
    try:
        found = bytes.fromhex(digest)
    except ValueError:
        return digest
    return found if len(found) == 32 and found.hex() == digest else digest


def restored(values: Mapping[str, Any]) -> dict[str, Any]:
    """The fields of the row, from the values of its columns; those of another type are left as they are.

    Raises:
        ValueError: what is packed in it cannot be unpacked; the text says what.
    """
    found = dict(values)
    for name in ("previous", "digest"):
        if isinstance(found[name], bytes):
            found[name] = _in_digits(name, found[name])
    if isinstance(found["payload"], bytes):
        found["payload"] = _text(_unpacked("payload", found["payload"]))
        if isinstance(found["raw"], bytes):
            found["raw"] = _unpacked("raw", found["raw"])
    return found


def _in_digits(name: str, data: bytes) -> str:
    if len(data) != 32:
        raise ValueError(f"its {name} has {len(data)} bytes, not 32")
    return data.hex()


def _unpacked(name: str, data: bytes) -> bytes:
    try:
        return unpacked(data, MOST_BYTES, WORDS if name == "payload" else b"")
    except ValueError as error:
        raise ValueError(f"its {name} is damaged: {error}") from error


def _text(data: bytes) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise ValueError(f"its payload is no text (byte {error.start + 1} is {data[error.start]:#04x})") from error
