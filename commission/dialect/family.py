"""Which family a printer is of, told by the shape of its identity answer and never by a name or a version.

The letters are ours:

- A: the widespread one and its many forks; a protocol version or capability lines, settings lines begin with `echo:`.
- B: the one with monitors and a structured status answer; a blank after each colon, and the name of its electronics.
- C: planned on a host computer; name and version and nothing else, comments begin with `//` and faults with `!!`.
- D: older 8-bit boards; it acknowledges before it answers and names a protocol after itself.
- E: ARM boards with a file of settings; entries divided by commas, keys of its own that begin with `X-`.

What only reads on one family changes a setting on another, so the family comes before the question. An `Identified`
cannot be made without an answer that proves it, and what depends on the family cannot be asked without an `Identified`.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache

from commission.dialect.identity import Identity, entries, identity_of, last_identity

_WIDESPREAD = frozenset({"PROTOCOL_VERSION", "MACHINE_TYPE", "EXTRUDER_COUNT"})
_BLANK_AFTER_COLON = re.compile(r"\s*FIRMWARE_(?:NAME|VERSION): ")


class Family(Enum):
    """A family of firmware, by the way it speaks."""

    A = "A"
    B = "B"
    C = "C"
    D = "D"
    E = "E"


_MARKS = {
    Family.B: re.compile(r"ELECTRONICS$"),
    Family.D: re.compile(r"[A-Z0-9]{1,40}_PROTOCOL$"),
    Family.E: re.compile(r"X-"),
}
"""A key of the identity answer that only this family has."""


@dataclass(frozen=True)
class Identified:
    """A printer whose family its own identity answer proves.

    Attributes:
        family: which family it is of.
        said: the lines of its identity answer, which are the proof.

    Raises:
        ValueError: the lines do not prove the family.
    """

    family: Family
    said: tuple[str, ...]

    def __post_init__(self) -> None:
        if family_of(self.said) is not self.family:
            raise ValueError(f"this identity does not prove family {self.family.value}: {' / '.join(self.said)!r}")

    @property
    def identity(self) -> Identity:
        """What the printer announces of itself."""
        return identity_of(self.said) or Identity()


def identified(lines: Iterable[str]) -> Identified | None:
    """The printer that these lines identify; None when they do not prove one family. Of several answers, the last."""
    return _identified(tuple(lines))


@lru_cache(maxsize=256)  # each reading asks it of the same lines; so do a hundred printers beside each other
def _identified(lines: tuple[str, ...]) -> Identified | None:
    said = last_identity(lines)
    family = family_of(said)
    return None if family is None else Identified(family, said)


def printer_of(identity: Identity | None) -> Identified | None:
    """The printer that announced itself so; None when that proves no family."""
    return None if identity is None else identified(identity.said)


def family_of(lines: Sequence[str]) -> Family | None:
    """The one family whose marks these lines bear; None when there is none, or when they contradict each other."""
    said = last_identity(lines)
    keys = {key for line in said for key in entries(line)}
    if "FIRMWARE_NAME" not in keys:
        return None
    common = bool(_WIDESPREAD & keys), any(line.startswith("Cap:") for line in said)
    special = [family for family, mark in _MARKS.items() if any(mark.match(key) for key in keys)]
    if special:
        return special[0] if len(special) == 1 and _fits(special[0], keys, *common) else None
    if any(common):
        return Family.A
    bare = keys == {"FIRMWARE_NAME", "FIRMWARE_VERSION"} and not _BLANK_AFTER_COLON.match(said[0])
    return Family.C if bare else None


def _fits(special: Family, keys: set[str], widespread: bool, capabilities: bool) -> bool:  # noqa: FBT001 - two marks
    """Whether nothing else in the answer speaks against a family that has a mark of its own."""
    own = "FIRMWARE_VERSION" in keys and not widespread
    return not capabilities and (own or special is not Family.B)
