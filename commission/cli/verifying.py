"""What `commission book verify` finds: in a book's file, or in the shared book as it is there."""

from pathlib import Path

from commission.cli.opening import opened_book
from commission.records.heads import compare_heads, heads_path
from commission.records.place import Place, reading_place
from commission.records.shared.address import SharedAddress
from commission.records.shared.mirror import whole_book
from commission.records.shared.seen import cut_off_here, seen_before
from commission.records.verify import verify


def verified(named: Place | None, digests: tuple[str, ...], heads: Path | None) -> tuple[bool, tuple[str, ...]]:
    """Whether a book is sound, and what is said of it.

    Args:
        named: the book on the command line.
        digests: those that it must hold.
        heads: the file of kept heads on the command line; no part of it is about a shared book.

    Raises:
        NoDigest: one of the digests is none.
        Ending: the book cannot be used.
    """
    place = reading_place(named)
    if isinstance(place, SharedAddress):
        there = whole_book(place)
        found = verify(there.rows, *digests)
        return found.sound and not there.lost, (*found.sentences, *there.lost)
    with opened_book(place) as opened:
        rows, damage = opened.survey()
        found = verify(rows, *digests, damage=damage)
        kept = compare_heads(heads_path(heads), opened.path, rows)
    lacking = cut_off_here(seen_before(place), rows)
    return found.sound and kept.sound and not lacking, (*found.sentences, *kept.sentences, *lacking)
