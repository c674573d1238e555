"""What was established of a sensor on a borrowed socket, and of the socket that was handed back."""

from typing import ClassVar

from commission.evidence.findings.base import Finding
from commission.judge.borrowed import ContactSeen
from commission.vocabulary import Level, Pull, Reading


class SocketBorrowed(Finding, frozen=True, kw_only=True, tag="socket_borrowed"):
    """Which socket is borrowed, and what its own switch reads.

    Attributes:
        socket: as the switch report calls it.
        pressed, free: what it reads with its own switch pressed by hand and let go.
        seed: of the order of the prompts.
    """

    title: ClassVar[str] = "The borrowed socket"

    socket: str
    pressed: Reading
    free: Reading
    seed: int


class SocketWired(Finding, frozen=True, kw_only=True, tag="socket_wired"):
    """How the sensor is wired to the borrowed socket; `answers` by the questions' names."""

    title: ClassVar[str] = "The wiring to the borrowed socket"

    answers: dict[str, str]


class BorrowPredicted(Finding, frozen=True, kw_only=True, tag="borrow_predicted"):
    """What the build must say, from readings on the borrowed socket.

    Attributes:
        empty, filament_in, filament_out: what the socket read throughout; unknown where it was unsteady or not read.
        with_small: empty, with 1 kilohm from signal to ground; None where that was not tried.
        seen: what the contact was seen to do.
        fail_safe: whether a broken wire reads as filament out; None where that cannot be said.
        absent: the level at *no filament*, and `pull` the pull it needs; None where no build follows.
        pull_shown: whether 1 kilohm showed the direction of the socket's pull.
        as_declared: whether the contact is the declared one; None where that cannot be said.
        why_not: why no build follows; empty where one does.
        conditions: what the build must have, each with its reason.
    """

    title: ClassVar[str] = "What the build must say"

    socket: str
    empty: Reading
    filament_in: Reading
    filament_out: Reading
    with_small: Reading | None
    seen: ContactSeen
    fail_safe: bool | None
    absent: Level | None
    pull: Pull | None
    pull_shown: bool
    as_declared: bool | None
    why_not: str
    conditions: tuple[str, ...]


class SocketHandedBack(Finding, frozen=True, kw_only=True, tag="socket_handed_back"):
    """Whether the socket's own switch works again as it did before."""

    title: ClassVar[str] = "The socket handed back"

    socket: str
    proven: bool


class AsPredicted(Finding, frozen=True, kw_only=True, tag="as_predicted"):
    """Whether an installation came out as a borrowed socket had predicted."""

    title: ClassVar[str] = "Held against the borrowed socket"
    newest_stands: ClassVar[bool] = True

    holds: bool
