"""Whether the book is as it was written, and whether it still holds what a signed report was drawn from."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from commission.records.chain import ORIGIN, ChainFault, Entry, check_chain

_DIGEST = re.compile(r"[0-9a-f]{64}")
LEAST_DIGITS = 12
"""So many leading digits of a printed digest are enough to type: a clash by chance is beyond all bounds."""


class NoDigest(ValueError):
    """What was given as a digest is none; the text says what to do."""


@dataclass(frozen=True)
class Verified:
    """What a verification found.

    Attributes:
        entries: how many entries the book holds.
        head: digest of the newest.
        faults: every place where it is not as it was written, in order.
        digest_at: sequence of the entry with the digest that was asked for; None when none has it, or none was asked.
        digest_asked: the digest that was asked for.
    """

    entries: int
    head: str
    faults: tuple[ChainFault, ...]
    digest_at: int | None = None
    digest_asked: str = ""

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong."""
        return not self.faults and (not self.digest_asked or self.digest_at is not None)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The result in words."""
        said = [f"{self.entries} entries; the newest has the digest {self.head}."]
        said += [f"Not as it was written: {fault.what}." for fault in self.faults]
        if not self.faults:
            said.append("Each entry follows the one before it, and none was altered.")
        if self.digest_asked and self.digest_at is None:
            said.append(
                f"No entry has the digest {self.digest_asked}: the entries the report was drawn from are not in this "
                "book. Either its end was removed, or the report comes from another book."
            )
        elif self.digest_asked:
            said.append(f"Entry {self.digest_at} has the digest {self.digest_asked}: the report was drawn up to there.")
        elif not self.faults:
            said.append("Entries cut off at the end leave no gap: compare with a signed report by --digest.")
        return tuple(said)


def verify(entries: Iterable[Entry], digest: str = "") -> Verified:
    """Check every entry, and look for the digest printed on a report.

    Args:
        entries: the whole book, in order.
        digest: as printed, or its first digits; blanks in it are ignored.

    Raises:
        NoDigest: it is too short, or holds other signs than hexadecimal digits.
    """
    asked = clean_digest(digest)
    everything = list(entries)
    at = next((e.sequence for e in everything if asked and e.digest.startswith(asked)), None)
    head = everything[-1].digest if everything else ORIGIN
    return Verified(len(everything), head, tuple(check_chain(everything)), at, asked)


def clean_digest(text: str) -> str:
    """A digest as typed from paper, without blanks and in lower case; empty stays empty.

    Raises:
        NoDigest: it cannot be one.
    """
    digest = re.sub(r"[\s:-]+", "", text).lower()
    if digest and not (LEAST_DIGITS <= len(digest) <= 64 and _DIGEST.fullmatch(digest.ljust(64, "0"))):
        raise NoDigest(
            f"A digest has 64 hexadecimal digits; the first {LEAST_DIGITS} are enough. Copy it from the report."
        )
    return digest
