"""Any file damaged by chance, the same for the same seed; and what every damaged file is tried with."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path
from random import Random

from scripts.campaigns._real_book import make_book
from scripts.campaigns._tool import Tool

PIECES = (
    *(b"\x00", b"\xff\xfe", b"[[", b"]]", b"=", b'"', b"'''", b"1e999", b"nan", b"-", b"{", b"\n\n", b"\r", b"\\u0000"),
    *("\u202e".encode(), b"9" * 400, b"[" * 200, b"true", b"#", b"\xed\xa0\x80", b"\\ud800", b"null", b"0x1F", b"."),
)


class Bench:
    """What every case is carried out with."""

    def __init__(self, tool: Tool, folder: Path) -> None:
        self.tool = tool
        self.folder = folder

    @cached_property
    def book(self) -> Path:
        """A sound record book, made when it is first asked for."""
        return make_book(self.folder, self.tool)

    @cached_property
    def export(self) -> bytes:
        """That book as it is exported."""
        return self.tool.run("book", "export", "-", "--book", self.book, folder=self.folder).out.encode()


def damaged_by_chance(data: bytes, chance: Random) -> bytes:
    """The data with one to four damages; now and then untouched."""
    for _ in range(chance.choice((0, 1, 1, 1, 2, 3, 4))):
        one, other = sorted((chance.randrange(len(data) + 1), chance.randrange(len(data) + 1)))
        other = min(other, one + chance.choice((1, 1, 3, 20, 200)))
        data = chance.choice(
            (
                data[:one] + data[other:],
                data[:one] + data[one:other] * 2 + data[other:],
                data[:one] + chance.choice(PIECES) + data[one:],
                data[:one] + chance.choice(PIECES) + data[other:],
                data[:one] + bytes(chance.randrange(256) for _ in range(other - one)) + data[other:],
                data[:one] + bytes(each ^ 1 for each in data[one : one + 1]) + data[one + 1 :],
                data[:one] if chance.random() < 0.3 else data,
                _lines_moved(data, chance),
            )
        )
    return data


def _lines_moved(data: bytes, chance: Random) -> bytes:
    lines = data.split(b"\n")
    line = lines.pop(chance.randrange(len(lines)))
    if chance.random() < 0.7:
        lines.insert(chance.randrange(len(lines) + 1), line)
    return b"\n".join(lines)


def chance_of(seed: str) -> Random:
    """Where the chance of one case begins."""
    return Random(seed)  # noqa: S311 - repeatable on purpose
