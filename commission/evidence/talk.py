"""Entries of what was said to the operator, asked and answered, and of the files that were kept."""

from typing import Annotated

from msgspec import Meta, Struct, structs

from commission.dialect.commands import Effect
from commission.evidence.entry import Count, Entry, Size
from commission.judge.power import PowerSeen, power_seen
from commission.vocabulary import PunchClass


class Told(Entry, frozen=True, kw_only=True, tag="told"):
    """A message to the operator; `weight` says how it is to be taken."""

    heading: str = ""
    lines: tuple[str, ...] = ()
    weight: str = "note"


class Offered(Struct, frozen=True, array_like=True):
    """One answer that could be chosen."""

    key: str
    label: str


class Asked(Entry, frozen=True, kw_only=True, tag="asked"):
    """A question was put."""

    key: str
    question: str
    lines: tuple[str, ...] = ()
    options: tuple[Offered, ...] = ()


class Answered(Entry, frozen=True, kw_only=True, tag="answered"):
    """A question was answered."""

    key: str
    answer: bool | str


class ReleaseAsked(Entry, frozen=True, kw_only=True, tag="release_asked"):
    """A release was asked for, naming what may follow under it."""

    key: str
    title: str
    lines: tuple[str, ...] = ()
    effects: tuple[Effect, ...] = ()


class ReleaseAnswered(Entry, frozen=True, kw_only=True, tag="release_answered"):
    """The operator's word on a release."""

    key: str
    granted: bool


class HoldOpened(Entry, frozen=True, kw_only=True, tag="hold_opened"):
    """A hold point; `power` says that the printer is switched off meanwhile."""

    title: str
    steps: tuple[str, ...]
    key: str = ""
    power: bool = False


class HoldReleased(Entry, frozen=True, kw_only=True, tag="hold_released"):
    """A hold point was released.

    Attributes:
        restarted: whether a boot banner was seen when the link came back.
        port: where the printer answered afterwards.
        heard: what it said by itself on the way back.
        same_identity: whether it announces itself as before.
        port_gone: whether the port went away while it was held.
        count_lost: whether the printer lost its count of lines meanwhile.
    """

    key: str
    restarted: bool = False
    port: str = ""
    heard: tuple[str, ...] = ()
    same_identity: bool = True
    port_gone: bool = False
    count_lost: bool = False

    @property
    def power(self) -> PowerSeen:
        """How far it was seen that the power was off."""
        return power_seen(restarted=self.restarted, port_gone=self.port_gone, count_lost=self.count_lost)


class Punched(Entry, frozen=True, kw_only=True, tag="punch"):
    """An open item; `settled_by` is the key of the hold point whose release settles it."""

    grade: PunchClass
    text: str
    cure: str = ""
    settled_by: str = ""

    def cured_by(self, cure: str) -> "Punched":
        """The same item with its cure in other words."""
        return structs.replace(self, cure=cure)


class FileAsked(Entry, frozen=True, kw_only=True, tag="file_asked"):
    """A file is about to be written."""

    name: str
    purpose: str


Sha256 = Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]


class FileKept(Entry, frozen=True, kw_only=True, tag="file_kept"):
    """A file was written; `bytes` is its size."""

    path: str
    purpose: str
    sha256: Sha256
    bytes: Size


class FileMark(Struct, frozen=True, kw_only=True):
    """Which file it is, as it was read or as somebody typed it: name and folder, digest and size.

    Attributes:
        sha256: 64 hexadecimal digits; empty where it is not known.
        bytes: its size; None for one that is elsewhere and was typed.
    """

    name: str
    place: str
    sha256: Annotated[str, Meta(pattern="^([0-9a-f]{64})?$")]
    bytes: Size | None


class FingerprintAsked(Entry, frozen=True, kw_only=True, tag="fingerprint_asked"):
    """A file is about to be identified."""

    path: str


class Fingerprinted(Entry, frozen=True, kw_only=True, tag="fingerprint"):
    """A file was identified; None when it cannot be read."""

    path: str
    file: FileMark | None = None


class RecallAsked(Entry, frozen=True, kw_only=True, tag="recall"):
    """A finding is about to be read back.

    Attributes:
        earlier: from the printer's earlier runs.
        not_of: sensors whose findings are passed over.
    """

    name: str
    earlier: bool = False
    not_of: tuple[str, ...] = ()


class Recalled(Entry, frozen=True, kw_only=True, tag="recalled"):
    """Whether it was found."""

    name: str
    found: bool


class RereadAsked(Entry, frozen=True, kw_only=True, tag="reread"):
    """The answers of a done phase are about to be read back."""

    phase: str


class RereadDone(Entry, frozen=True, kw_only=True, tag="reread_done"):
    """How many there were."""

    phase: str
    answers: Count
