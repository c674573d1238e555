"""What a wire is, and what it needs of the device behind it.

A wire knows no printer: it carries bytes, says when a host opened it and can vanish. Nothing in it waits; whoever
runs it sleeps on `files()`, at most for `look_again_s`, and calls it again.
"""

from collections.abc import Sequence
from typing import Protocol

QUEUE_LIMIT_BYTES = 65536
"""What a wire keeps for a host that does not read; the rest is lost, as it is in a serial driver."""
DEAF_HOST_S = 0.020
"""How often a wire is looked at that holds bytes for such a host: not every system tells when there is room again."""


class WireError(Exception):
    """The wire cannot be laid; the text says what to do."""


class LineTraits(Protocol):
    """The part of a unit's profile that a wire reads."""

    @property
    def speed_baud(self) -> int:
        """The speed the device's port runs at."""
        ...

    @property
    def loss_per_byte(self) -> float:
        """Probability that a byte is lost."""
        ...

    @property
    def damage_per_byte(self) -> float:
        """Probability that a byte arrives with one bit turned."""
        ...


class Device(Protocol):
    """The serial side of the simulated printer; time is handed to it."""

    @property
    def usb_attached(self) -> bool:
        """Whether the plug is in; while it is not, there is no port."""
        ...

    def host_attached(self) -> None:
        """A host opened the port."""
        ...

    def receive(self, data: bytes) -> None:
        """Take bytes from the host."""
        ...

    def advance(self, elapsed_s: float) -> None:
        """Let simulated time pass."""
        ...

    def until_next_s(self) -> float:
        """Simulated seconds for which it does nothing by itself; infinite while it waits for somebody."""
        ...

    def take_output(self) -> bytes:
        """The bytes for the host since last asked."""
        ...


class ReadyFile(Protocol):
    """Something an operating system can wait on."""

    def fileno(self) -> int:
        """Its number."""
        ...


class Wire(Protocol):
    """A byte pipe a host can open, close and lose."""

    @property
    def link(self) -> str:
        """What the host opens, as a path or an address."""
        ...

    @property
    def plugged(self) -> bool:
        """Whether the port exists at present."""
        ...

    @property
    def attached(self) -> bool:
        """Whether a host has it open, as far as `take_openings` has seen."""
        ...

    @property
    def host_speed_baud(self) -> int | None:
        """The speed the host has set, or None where a wire has no speed."""
        ...

    def plug(self) -> None:
        """Let the port appear.

        Raises:
            WireError: it cannot.
        """
        ...

    def unplug(self) -> None:
        """Let the port vanish under whoever has it open."""
        ...

    def take_openings(self) -> int:
        """How often a host has opened the port since last asked."""
        ...

    def read(self, limit_bytes: int) -> bytes:
        """What the host has sent, at most so much of it; never waits."""
        ...

    def write(self, data: bytes) -> None:
        """Hand bytes to the host; without a host they are gone. Never waits."""
        ...

    @property
    def look_again_s(self) -> float:
        """Seconds after which it has to be looked at though none of its files woke anybody; infinite at best."""
        ...

    def files(self) -> Sequence[ReadyFile]:
        """What to sleep on for news from the host."""
        ...

    def close(self) -> None:
        """Take the wire down for good."""
        ...
