"""Where each book ended, kept in a second file elsewhere: a book that was cut, or written anew, is found by it.

The chain of a book that was cut at its end is whole by itself, and so is one that was reckoned anew from some entry on.
Only a digest from elsewhere tells. So after each command that wrote, one line is added to a file that lies apart from
the book: which book it is (the digest of its first entry), how many entries it had, and the digest of the newest.
"""

import json
import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from commission.dialect.sanitise import clean_text
from commission.files.book_file import is_open_book
from commission.files.kept import OWNER_ALONE
from commission.files.output import OutputRefused
from commission.files.reading import read_whole
from commission.records.book import Book
from commission.records.chain import Row, canonical

VARIABLE = "COMMISSION_HEADS"


@dataclass(frozen=True)
class Head:
    """One line of the file.

    Attributes:
        book: digest of the first entry of the book, or of one of its chains.
        entries: how many it had.
        digest: of the newest.
        at: wall time of the newest, ISO 8601.
        path: where the book lay.
    """

    book: str
    entries: int
    digest: str
    at: str
    path: str


@dataclass(frozen=True)
class HeadsCompared:
    """What the kept heads say of a book.

    Attributes:
        sound: whether the book holds every one of them.
        sentences: the result in words.
    """

    sound: bool
    sentences: tuple[str, ...]


def heads_path(named: Path | None = None, environment: Mapping[str, str] = os.environ) -> Path:
    """The file named on the command line, else the one in the environment, else one in the user's folder of states."""
    if named is not None:
        return named
    if environment.get(VARIABLE):
        return Path(environment[VARIABLE]).expanduser()
    from platformdirs import user_state_path

    return user_state_path("commission", appauthor=False) / "book-heads.jsonl"


def keep_head(place: Path, book: Book) -> None:
    """Add where the book ends now, each of its chains, unless that is known already or it is empty.

    Raises:
        BookError: the book cannot be read.
        OutputRefused: another file is there.
        OSError: the file cannot be written.
    """
    here = str(book.path.resolve())
    heads = [Head(origin, newest.sequence, newest.digest, newest.at, here) for origin, newest in book.heads()]
    known, strange = kept_heads(place)
    new = [head for head in heads if head not in known]
    if not new:
        return
    if strange and not known:
        raise OutputRefused(f"{place} is there already and is no file of heads: nothing is added to it.")
    place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    lines = "".join(f"{canonical(vars(head))}\n" for head in new)
    with open(place, "ab", buffering=0, opener=_for_its_owner) as file:
        file.write(lines.encode("ascii"))  # at one go: other programs may add theirs now


def _for_its_owner(path: str, flags: int) -> int:
    return os.open(path, flags, OWNER_ALONE)


def kept_heads(place: Path) -> tuple[list[Head], list[int]]:
    """The heads in the file, and the numbers of the lines that hold none; nothing where there is no file.

    Raises:
        OutputRefused: it is the book itself.
        OSError: it is there and cannot be read.
    """
    heads: list[Head] = []
    strange: list[int] = []
    if not place.exists():
        return heads, strange
    if is_open_book(place):
        raise OutputRefused(f"{place} is the record book: its heads must be kept in another file.")
    lines = read_whole(place).splitlines()
    for number, line in enumerate(lines, start=1):
        try:
            heads.append(_head(json.loads(line)))
        except (ValueError, RecursionError):
            strange.append(number)
    return heads, strange


def _head(value: object) -> Head:
    """A line of the file.

    Raises:
        ValueError: it is none.
    """
    match value:
        case {"book": str(book), "entries": int(entries), "digest": str(digest), "at": str(at), "path": str(path)}:
            return Head(book, entries, digest, at, path)
    raise ValueError("no head")


def compare_heads(place: Path, path: Path, rows: Sequence[Row]) -> HeadsCompared:
    """Hold the book against what is kept of it: under its path, or under one at which nothing lies any more.

    A copy that lies elsewhere and goes on by itself has heads of its own.

    Args:
        place: the file of heads.
        path: where the book lies.
        rows: all of the book that can be read, chain by chain and in order.
    """
    try:
        heads, strange = kept_heads(place)
    except OutputRefused as error:
        return HeadsCompared(sound=False, sentences=(str(error),))
    except OSError as error:
        return HeadsCompared(sound=False, sentences=(f"The heads in {place} cannot be read: {error.strerror}.",))
    firsts, here = {row.digest for row in rows if row.sequence == 1}, str(path.resolve())
    own = [head for head in heads if head.book in firsts and (head.path == here or not Path(head.path).exists())]
    others = [head for head in heads if head.book not in firsts and head.path == here]
    said = [f"{place}, line {number}, holds no head: it is left out." for number in strange]
    gone = _gone(own, rows)
    if gone:
        said.append(
            f"Not as it was: {len(gone)} of the {len(own)} heads in {place} are not in this book. {_was(gone[0])}"
        )
    elif own:
        said.append(
            f"The book holds every head that is kept of it in {place}: {len(own)}, the last of entry {_last(own)}."
        )
    else:
        said.append(f"No head of this book is kept in {place} yet. One is added whenever something was written.")
    if others:
        said.append(
            f"Another book lay at this place. {_was(others[-1])} If this one was begun anew on purpose, take the other "
            f"book's lines out of {place}."
        )
    return HeadsCompared(sound=not gone and not others, sentences=tuple(said))


def _gone(own: Iterable[Head], rows: Sequence[Row]) -> list[Head]:
    origins = {row.chain: row.digest for row in rows if row.sequence == 1}
    digests = {(origins.get(row.chain), row.sequence): row.digest for row in rows}
    return [head for head in own if digests.get((head.book, head.entries)) != head.digest]


def _last(own: Iterable[Head]) -> int:
    return max(head.entries for head in own)


def _was(head: Head) -> str:
    when = clean_text(head.at[:16].replace("T", " "))
    return f"On {when} it had {head.entries} entries, the newest with the digest {clean_text(head.digest)}."
