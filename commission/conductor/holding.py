"""Hold points. At one with power off the printer may vanish; afterwards it is looked for and asked who it is.

Until the port goes it is listened to: that it went, and that the board began anew, are what is seen of a power-off. A
board that said nothing when it was opened may say nothing when it starts either: its count of lines, which a restart
loses, is set before and asked for afterwards, which changes nothing else of it. A
port of the network stays open when the printer behind it is off: there it is asked who it is now and then, and a
printer that answers nothing for seconds is as good as a port that went. A reflash needs the port for another program,
so there it is let go at once and nothing is seen.
"""

import asyncio
import contextlib
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import TypeVar

from commission.asking.request import Confirm, Enter, Hold
from commission.asking.response import HoldReleased
from commission.command_lines import PORTS
from commission.conductor.attention import Attention
from commission.conductor.connection import Connection, Returned
from commission.desk.base import Desk, Status
from commission.dialect.commands import IDENTITY
from commission.dialect.conversation import Interruption
from commission.dialect.family import Family
from commission.dialect.identity import Identity, identity_of
from commission.link.address import Kind, parse_address
from commission.link.base import LinkError
from commission.session import ConversationBroken, End, Exchange
from commission.session.line_count import count_lost, mark_count

_T = TypeVar("_T")
ASK_AGAIN = 2
"""How often an identity that differs is asked for again: on a poor line one letter may have been lost."""

NO_POWER = (
    "See that the USB cable is in. A board that USB does not power needs mains too: close the cover, plug the mains "
    "plug in and switch the printer on."
)
LISTEN_S = 0.05
"""While a hold point is open the port is listened to in slices of this length."""

ASK_EVERY_SLICES, SILENT_S = 20, 3.0
"""Over a network a question goes out after so many slices; a printer that says nothing for so long after it is off."""

OTHER_NAME = f"After a restart or a reflash a printer may come back under another port name; `{PORTS}` lists them."


@dataclass
class _Seen:
    """What was seen while a hold point was open: the port went away or fell silent, the board began anew.

    Attributes:
        count: the printer's count of lines before it was switched off; None where it shows nothing.
    """

    gone: bool = False
    restarted: bool = False
    count: int | None = None


COUNTS_LINES = (Family.A, Family.D, Family.E)
"""On the others the number of a line is not looked at, or a number that is set may be a file of the owner's."""


class Holding:
    """Carries out hold points for one run."""

    def __init__(
        self,
        connection: Connection,
        desk: Desk,
        attention: Attention,
        came_back: Callable[[Returned], Awaitable[None]],
    ) -> None:
        self._connection = connection
        self._desk = desk
        self._attention = attention
        self._came_back = came_back
        self._identity: Identity | None = None
        self._says_start = False

    @property
    def identity(self) -> Identity | None:
        """Who answers here, as far as the printer announces itself."""
        return self._identity

    def remember(self, returned: Returned) -> None:
        """Keep who answered when the run began."""
        self._identity = identity_of(returned.exchange.lines)
        self._says_start = returned.restarted

    def learn(self, answered: Exchange) -> None:
        """Keep who it is from a later answer, where the first one did not say."""
        if self._identity is None and answered.command == IDENTITY:
            self._identity = identity_of(answered.lines)

    async def hold(self, request: Hold) -> HoldReleased:
        """Wait for the release.

        Raises:
            LinkError: the printer did not come back, and the operator does not want to look again.
            NoAnswer: it came back, and says that it does not serve.
        """
        if not request.power:
            await self._attention.while_heard(self._desk.hold(request))
            return HoldReleased(port=self._connection.address)
        seen = _Seen()
        if request.reflash:
            await self._connection.close()
            await self._desk.hold(request)
        else:
            await self._mark(seen)
            await self._listened(request, seen)
        returned = await self._look()
        await self._came_back(returned)
        seen.restarted = seen.restarted or returned.restarted
        lost = await self._lost(seen)
        same = await self._same_or_new(returned, reflashed=request.reflash)
        if same:
            await self._attention.until_it_serves()
        return HoldReleased(
            restarted=seen.restarted,
            port_gone=seen.gone,
            count_lost=lost,
            port=self._connection.address,
            heard=tuple(reply.text for reply in returned.heard),
            same_identity=same,
        )

    async def _mark(self, seen: _Seen) -> None:
        """Have a printer that may say nothing when it starts count its lines, so that a restart shows."""
        session, printer = self._connection.session, self._attention.printer
        counts = printer is not None and printer.family in COUNTS_LINES
        if session is not None and counts and not self._says_start:
            seen.count = await self._heard(mark_count(session), seen)

    async def _lost(self, seen: _Seen) -> bool:
        """Whether the count is gone; a board that begins anew only now, and says so, needs no other sign."""
        if seen.restarted or seen.count is None:
            return False
        try:
            return await count_lost(self._attention.session, seen.count)
        except ConversationBroken as broken:
            if broken.interruption is not Interruption.BOARD_RESTARTED:
                raise
            seen.restarted = True
            await self._attention.session.wait_for_quiet()
            return False

    async def _listened(self, request: Hold, seen: _Seen) -> None:
        """Wait for the release and listen meanwhile, until the port goes; then it is let go."""
        released = asyncio.ensure_future(self._desk.hold(request))
        asks = parse_address(self._connection.address).kind is not Kind.DEVICE
        slices = 0
        try:
            while not released.done():
                if self._connection.session is None:
                    await asyncio.wait({released})
                await self._listen(seen)
                slices += 1
                if asks and slices % ASK_EVERY_SLICES == 0 and not seen.gone and not released.done():
                    await self._ask(seen)
            await self._listen(seen)  # whatever happened in the last moment shows in a port that is dead now
            released.result()
        finally:
            await self._connection.close()
            if not released.done():
                released.cancel()
                with contextlib.suppress(asyncio.CancelledError):
                    await released

    async def _listen(self, seen: _Seen) -> None:
        session = self._connection.session
        if session is not None:
            await self._heard(session.listen(LISTEN_S), seen)

    async def _ask(self, seen: _Seen) -> None:
        """Ask who it is, which changes nothing; once it stays silent nothing more is asked, and it is listened on."""
        session = self._connection.session
        if session is not None:
            exchange = await self._heard(session.once(IDENTITY, SILENT_S), seen)
            seen.count = session.last_number or seen.count  # on a numbered line this question was counted too
            seen.gone = seen.gone or (exchange is not None and exchange.end is End.SILENT)

    async def _heard(self, talk: Awaitable[_T], seen: _Seen) -> _T | None:
        """Carry it out; None where the port went, or the printer broke it off: that is noted."""
        try:
            return await talk
        except LinkError:
            seen.gone = True
            await self._connection.close()
        except ConversationBroken as broken:
            seen.restarted = seen.restarted or broken.interruption is Interruption.BOARD_RESTARTED
        return None

    async def _same_or_new(self, returned: Returned, *, reflashed: bool) -> bool:
        same = await self._is_same(returned)
        if reflashed:
            self.remember(returned)
        return same

    async def _is_same(self, returned: Returned) -> bool:
        self.learn(returned.exchange)  # who never said a name is not told to be another one by saying it now
        if identity_of(returned.exchange.lines) == self._identity:
            return True
        for _ in range(ASK_AGAIN):
            again = await self._attention.session.exchange(IDENTITY)
            if identity_of(again.lines) == self._identity:
                return True
        return False

    async def _look(self) -> Returned:
        while True:
            self._desk.show(Status(note="looking for the printer"))
            try:
                return await self._connection.reopen()
            except LinkError as missing:
                lines = (str(missing), NO_POWER)
                if not await self._desk.confirm(Confirm("hold.look_again", "Look for the printer again?", lines)):
                    raise
                await self._ask_where()

    async def _ask_where(self) -> None:
        # a port that has no identity of its own cannot be followed when it comes back under another name
        question = f"Under the same port name, {self._connection.address}?"
        if await self._desk.confirm(Confirm("hold.same_port", question, (OTHER_NAME,))):
            return
        address = await self._desk.enter(Enter("hold.port", "Its port name now (empty: the same)", optional=True))
        if address.strip():
            self._connection.look_at(address.strip())
