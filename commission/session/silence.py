"""A console from which nothing comes: waited for with a bound, and told of truly.

A host computer that heats, homes or runs what its user wrote reads no line before it is through, and says nothing
meanwhile. The questions lie there and are answered all at once. So silence is no sign that there is no printer; and
the answers that come late belong to questions asked at other speeds, so they are heard to their end and asked anew.
"""

from collections.abc import Awaitable, Callable, Sequence

from commission.clock import Clock, Deadline
from commission.command_lines import PORTS
from commission.dialect.identity import is_identity_line
from commission.dialect.replies import Reply, ReplyKind
from commission.session.exchange import SpeedNotFound
from commission.session.talk import Session

SILENT_WAIT_S = 120.0
"""So long a console from which nothing came is waited for where a person is told and can stop."""
SLICE_S = 1.0
ADVICE = (
    f"Check that the printer is switched on and that this is its port (`{PORTS}`), that no other "
    "program is talking to it, and name its speed with --speed if it is an unusual one."
)
ADVICE_SILENT = (
    f"{ADVICE} A host computer that heats, homes or runs a macro answers nothing before it is through: look whether "
    "the printer is at work, let it end, and start again."
)

Told = Callable[[float], Awaitable[None]]
"""Told, once a second while nothing comes, how long it is still waited for, in seconds."""


async def _nobody(_left_s: float) -> None:
    """Nobody is told."""


class Silence:
    """How long a console from which nothing came is waited for, and who is told.

    Attributes:
        wait_s: in seconds; 0 for not at all.
        told: see `Told`.
        waited_s: how long it was waited for.
    """

    def __init__(self, wait_s: float = 0.0, told: Told = _nobody) -> None:
        self.wait_s = wait_s
        self.told = told
        self.waited_s = 0.0

    async def ends(self, session: Session, clock: Clock) -> bool:
        """Wait for the first byte; whether one came. What came is heard until the line is quiet.

        Raises:
            LinkLost: the link is gone.
        """
        limit = Deadline.after(clock, self.wait_s)
        began_s = clock.monotonic()
        while not limit.passed and not session.received_bytes:
            await self.told(limit.remaining_s)
            await session.wait_for_quiet(min(SLICE_S, limit.remaining_s))
        self.waited_s = clock.monotonic() - began_s
        if session.received_bytes:
            await session.wait_for_quiet()
        return session.received_bytes > 0


def late(heard: Sequence[Reply]) -> bool:
    """Whether these lines, heard while nothing was asked, answer questions from before."""
    return any(reply.kind is ReplyKind.ACKNOWLEDGED or is_identity_line(reply.text) for reply in heard)


def not_found(session: Session, tried: Sequence[int], waited_s: float) -> SpeedNotFound:
    """What is said where no speed brought an answer: what came was noise, or nothing came at all."""
    said = f"The port {session.link.name} opened, but nothing on it answered like a printer at "
    said += f"{', '.join(map(str, tried))} baud"
    if session.received_bytes:
        return SpeedNotFound(f"{said}.", ADVICE)
    for_long = f", nor for {waited_s:.0f} s after that" if waited_s else ""
    return SpeedNotFound(f"{said}: not one byte came{for_long}.", ADVICE_SILENT)
