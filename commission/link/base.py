"""The byte pipe to the printer, and the one family of errors by which it can fail.

Everything above this room knows these names only; the libraries' own exceptions are translated once, in
`troubles`, and kept as the cause.

    LinkError                what went wrong with the pipe; the text says what to do
      PortMissing            no such port
      PortBusy               somebody else has it
      PortForbidden          this user may not open it
      PortUnusable           it opened, but cannot do what was asked (a speed, an address that answers nothing)
      LinkLost               it was open and is gone
        TurnedAway           the far end let us in only to say that somebody else has it: PortBusy as well
"""

from typing import Protocol


class LinkError(Exception):
    """The pipe failed; the text is one sentence for the operator.

    Attributes:
        advice: what to do about it, as one or two sentences.
    """

    def __init__(self, message: str, advice: str) -> None:
        super().__init__(message)
        self.message = message
        self.advice = advice

    def __str__(self) -> str:
        return f"{self.message} {self.advice}".strip()


class PortMissing(LinkError):
    """There is no such port."""


class PortBusy(LinkError):
    """Somebody else has the port open."""


class PortForbidden(LinkError):
    """This user may not open the port."""


class PortUnusable(LinkError):
    """The port exists but cannot do what was asked of it."""


class LinkLost(LinkError):
    """The pipe was open and is gone; what was in flight has an unknown outcome."""


class TurnedAway(LinkLost, PortBusy):
    """A port server let the connection come about, said that somebody else has the port, and hung up."""


class Link(Protocol):
    """A byte pipe. It knows no lines, no commands and no printer.

    Opening may restart the board. `send` returns once the bytes were handed over; `receive` returns what has come,
    or nothing after the time given. Every way of losing the pipe raises LinkLost from whichever call meets it first
    and from every call after that; a link that was lost is closed before it is opened again. `close` never raises
    and may be called again.
    """

    @property
    def name(self) -> str:
        """The port as the operator wrote it."""
        ...

    async def open(self, speed_baud: int) -> None:
        """Open the pipe for this process alone.

        Raises:
            PortMissing, PortBusy, PortForbidden, PortUnusable: it could not be opened; the error says what to do.
        """
        ...

    async def set_speed(self, speed_baud: int) -> None:
        """Change the speed of the open pipe. A pipe without a speed of its own accepts any number.

        Raises:
            PortUnusable: the port refuses this speed.
            LinkLost: the pipe is gone.
        """
        ...

    async def send(self, data: bytes) -> None:
        """Hand the bytes over.

        Raises:
            LinkLost: the pipe is gone, or it has taken no more bytes for some seconds; the outcome is unknown.
        """
        ...

    async def receive(self, timeout_s: float) -> bytes:
        """All bytes that have come, waiting at most `timeout_s` for the first; empty when the line was silent.

        Raises:
            LinkLost: the pipe is gone and everything that came before has been handed out.
        """
        ...

    async def close(self) -> None:
        """Let go of the pipe."""
        ...
