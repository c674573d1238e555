"""Opens the link to one printer and finds it again after its power was off, also under another port name."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from commission.clock import Clock, Deadline
from commission.dialect.replies import Reply, ReplyKind
from commission.link.base import Link, LinkError
from commission.session import Exchange, Session, Traffic, connect
from commission.session.patience import LONGEST_WAIT_S
from commission.session.silence import Silence

LOOK_EVERY_S = 0.5
COME_BACK_S = 60.0
"""How long a printer may take to come back after it was switched on: the slowest boards need ten seconds."""


@dataclass(frozen=True)
class Returned:
    """The printer answers again.

    Attributes:
        exchange: its answer to who it is.
        heard: what it said by itself on the way.
        other_speed: in words, that it does not answer at the speed that was tried first; empty where it does.
    """

    exchange: Exchange
    heard: tuple[Reply, ...]
    other_speed: str = ""

    @property
    def restarted(self) -> bool:
        """Whether a boot banner was among it."""
        return any(reply.kind is ReplyKind.BANNER for reply in self.heard)


class Connection:
    """One printer on one port.

    Args:
        address: the port as the operator named it.
        make_link: builds a link to an address.
        find: says where the printer is now, given where it was; the same address when it has no identity to follow.
            Raises LinkError when it is surely not there.
        speeds_baud: the speeds to try, the likeliest first.
        longest_wait_s: how long a printer that says that it is busy is waited for, in seconds.
        silence: how long one is waited for that says nothing at all when the port is opened first.
    """

    def __init__(
        self,
        address: str,
        *,
        make_link: Callable[[str], Link],
        find: Callable[[str], str],
        speeds_baud: Sequence[int],
        clock: Clock,
        on_traffic: Callable[[Traffic], None],
        on_aside: Callable[[Reply], None] = lambda _reply: None,
        longest_wait_s: float = LONGEST_WAIT_S,
        silence: Silence | None = None,
    ) -> None:
        self.silence = silence or Silence()
        self._longest_wait_s = longest_wait_s
        self.address = address
        self._make_link = make_link
        self._find = find
        self._speeds_baud = tuple(speeds_baud)
        self._clock = clock
        self._on_traffic = on_traffic
        self._on_aside = on_aside
        self._heard: list[Reply] = []
        self.waits: Callable[[Reply], bool] = lambda _reply: False
        self.listeners: list[Callable[[Reply], None]] = []
        self.session: Session | None = None

    async def open(self, silence: Silence | None = None) -> Returned:
        """Open the port and find the speed.

        Args:
            silence: how long a console from which nothing comes is waited for; None for not at all.

        Raises:
            LinkError: it cannot be opened, was lost, or nothing answers; the error says what to do.
        """
        self._heard = []
        session = Session(
            self._make_link(self.address), self._clock, on_traffic=self._on_traffic, on_aside=self._overhear
        )
        session.waits = self.waits
        session.longest_wait_s = self._longest_wait_s
        try:
            exchange = await connect(session, self._speeds_baud, silence)
        except BaseException:
            await session.close()
            raise
        self.session = session
        other = _other_speed(session.speed_baud, self._speeds_baud[0])
        self._speeds_baud = (session.speed_baud, *(s for s in self._speeds_baud if s != session.speed_baud))
        return Returned(exchange, tuple(self._heard), other)

    async def reopen(self) -> Returned:
        """Look for the printer until it answers again.

        Raises:
            LinkError: it did not come back in time; the last reason why.
        """
        limit = Deadline.after(self._clock, COME_BACK_S)
        while True:
            try:
                self.address = self._find(self.address)
                return await self.open()
            except LinkError:
                if limit.passed:
                    raise
            await self._clock.sleep(LOOK_EVERY_S)

    def look_at(self, address: str) -> None:
        """Look for the printer at this address from now on, and nowhere else: somebody has named it."""
        self.address = address
        self._find = lambda where: where

    async def close(self) -> None:
        """Let go of the port."""
        if self.session is not None:
            await self.session.close()
            self.session = None

    def _overhear(self, reply: Reply) -> None:
        self._heard.append(reply)
        self._on_aside(reply)
        for listener in self.listeners:
            listener(reply)


def _other_speed(found_baud: int, first_baud: int) -> str:
    if found_baud == first_baud:
        return ""
    return f"The printer answers at {found_baud} baud, not at {first_baud}, which was tried first: name it by --speed."
