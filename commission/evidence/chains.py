"""What a bench writes of its chain."""

from msgspec import Struct

from commission.evidence.entry import Entry, Size


class SeenHead(Struct, frozen=True):
    """Where another chain ended when it was seen.

    Attributes:
        origin: digest of its first entry.
        entries: how many it had.
        digest: of the newest.
    """

    origin: str
    entries: Size
    digest: str


class ChainBegun(Entry, frozen=True, kw_only=True, tag="chain_begun"):
    """A bench begins a chain of its own in a book that holds others already.

    Attributes:
        identity: of the bench, 32 hexadecimal digits, made once by chance.
        behind: where the others ended.
    """

    identity: str
    behind: tuple[SeenHead, ...] = ()
