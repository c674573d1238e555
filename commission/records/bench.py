"""Which bench writes into a book, and which of its chains is its own: made once, kept in a file beside the book.

A chain is written by one bench alone. Two copies of a book that both went on in the same chain would be a fork, and no
union could hold both. So the right to go on with a chain lies beside the book and not in it. A copy comes without that
file, or at another place; an older state that was put back lacks the newest entry that the file knows of. In each case
a new bench begins a new chain behind the old ones, which stay as they are. A book is moved with the file, or goes on in
a new chain, which costs nothing.
"""

import json
import secrets
from dataclasses import dataclass
from pathlib import Path

from commission.files.kept import keep_whole
from commission.records.chain import canonical
from commission.records.tables import BookError

_MARK_SIGNS = "23456789abcdefghjkmnpqrstuvwxyz"
_MARK_LENGTH = 5


@dataclass(frozen=True)
class Bench:
    """Who writes into a book.

    Attributes:
        identity: 32 hexadecimal digits, by chance.
        origin: digest of the first entry of its chain; empty before there is one.
        entries: how many it had written when it was last looked at.
        digest: of the newest of them.
        place: where the book lay.
        file: number of the book's file on its disk.
    """

    identity: str
    origin: str = ""
    entries: int = 0
    digest: str = ""
    place: str = ""
    file: int = 0

    @property
    def mark(self) -> str:
        """Five signs that the numbers of its runs carry, so that two benches give none twice (1 in 29 million)."""
        rest, signs = int(self.identity, 16), ""
        for _ in range(_MARK_LENGTH):
            rest, sign = divmod(rest, len(_MARK_SIGNS))
            signs += _MARK_SIGNS[sign]
        return signs

    def lies_here(self, book: Path) -> bool:
        """Whether it is kept of this very file: at the same place, or moved within its disk."""
        return (self.place == str(book.resolve())) or (self.file == book.stat().st_ino)


def bench_file(book: Path) -> Path:
    """Where it is kept, whatever name or symbolic link the book was opened by."""
    place = book.resolve()
    return place.with_name(f"{place.name}.bench")


def new_bench() -> Bench:
    """A bench that has written nothing yet."""
    return Bench(secrets.token_hex(16))


def kept_bench(book: Path) -> Bench | None:
    """The bench that is kept beside the book; None where there is none, or the file is none of ours.

    Raises:
        BookError: it is there and cannot be read.
    """
    try:
        told = json.loads(bench_file(book).read_bytes())
    except FileNotFoundError:
        return None
    except ValueError:
        return None
    except OSError as error:
        raise BookError(f"{bench_file(book)} says who writes into the book, and cannot be read: {error}.") from error
    match told:
        case {
            "bench": str(identity),
            "origin": str(origin),
            "entries": int(entries),
            "digest": str(digest),
            "place": str(place),
            "file": int(file),
        } if _is_identity(identity):
            return Bench(identity, origin, entries, digest, place, file)
    return None


def _is_identity(text: str) -> bool:
    return len(text) == 32 and set(text) <= set("0123456789abcdef")


def keep_bench(book: Path, bench: Bench) -> None:
    """Keep it beside the book, whole or not at all.

    Raises:
        BookError: it cannot be written.
    """
    here = bench_file(book)
    told: dict[str, object] = {"bench": bench.identity, "origin": bench.origin}
    told |= {"entries": bench.entries, "digest": bench.digest}
    told |= {"place": str(book.resolve()), "file": book.stat().st_ino}
    try:
        keep_whole(here, f"{canonical(told)}\n")
    except OSError as error:
        raise BookError(
            f"{here} cannot be written ({error.strerror}): it says which bench goes on with the book. Check that the "
            "folder can be written."
        ) from error
