"""A book altered in its file: a byte, a page, or its end."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random

from scripts.campaigns._alteration import IN_FILE, Alteration

PAGE = 4096


def in_file(size: int, chance: Random) -> Iterator[Alteration]:
    pages = size // PAGE

    def data_of(book: Path) -> bytearray:
        return bytearray(book.read_bytes())

    def flip(place: int, mask: int) -> Callable[[Path], None]:
        def alter(book: Path) -> None:
            data = data_of(book)
            data[place] ^= mask
            book.write_bytes(data)

        return alter

    def copy(source: int, target: int, *, both: bool) -> Callable[[Path], None]:
        def alter(book: Path) -> None:
            data = data_of(book)
            one = slice(source * PAGE, (source + 1) * PAGE)
            other = slice(target * PAGE, (target + 1) * PAGE)
            first, second = bytes(data[one]), bytes(data[other])
            data[other] = first
            data[one] = second if both else first
            book.write_bytes(data)

        return alter

    number = 0
    while True:
        for mask in (1, 0x80, 0xFF, 0x20, 0x10):
            number += 1
            place = chance.randrange(100 if number % 25 == 0 else size)
            yield Alteration(f"file {number}: byte {place} changed by {mask:#04x}", IN_FILE, flip(place, mask))
        one, other = chance.sample(range(pages), 2)
        yield Alteration(f"file {number}: pages {one} and {other} swapped", IN_FILE, copy(one, other, both=True))
        one, other = chance.sample(range(1, pages), 2)
        yield Alteration(f"file {number}: page {one} copied over {other}", IN_FILE, copy(one, other, both=False))
        length = chance.choice((chance.randrange(size), chance.randrange(pages) * PAGE))
        yield Alteration(
            f"file {number}: cut to {length} bytes",
            IN_FILE,
            lambda book, length=length: _write(book, book.read_bytes()[:length]),  # type: ignore[misc]
        )


def _write(book: Path, data: bytes) -> None:
    book.write_bytes(data)
