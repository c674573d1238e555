"""Hold points. At one with power off the port is let go; afterwards the printer is looked for and asked who it is."""

from collections.abc import Awaitable, Callable

from commission.conductor.attention import Attention
from commission.conductor.connection import Connection, Returned
from commission.desk.base import Desk, Status
from commission.dialect.commands import IDENTITY
from commission.dialect.identity import Identity, identity_of
from commission.link.base import LinkError
from commission.procedure.request import Confirm, Enter, Hold
from commission.procedure.response import HoldReleased

ASK_AGAIN = 2
"""How often an identity that differs is asked for again: on a poor line one letter may have been lost."""

NO_POWER = (
    "See that the USB cable is in. A board that USB does not power needs mains too: close the cover, plug the mains "
    "plug in and switch the printer on."
)
OTHER_NAME = (
    "After a restart or a reflash a printer may come back under another port name; `commission ports` lists them."
)


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

    @property
    def identity(self) -> Identity | None:
        """Who answers here, as far as the printer announces itself."""
        return self._identity

    def remember(self, returned: Returned) -> None:
        """Keep who answered when the run began."""
        self._identity = identity_of(returned.exchange.lines)

    async def hold(self, request: Hold) -> HoldReleased:
        """Wait for the release.

        Raises:
            LinkError: the printer did not come back, and the operator does not want to look again.
        """
        if not request.power:
            await self._attention.while_heard(self._desk.hold(request))
            return HoldReleased(port=self._connection.address)
        await self._connection.close()
        await self._desk.hold(request)
        returned = await self._look()
        await self._came_back(returned)
        return HoldReleased(
            restarted=returned.restarted,
            port=self._connection.address,
            heard=tuple(reply.text for reply in returned.heard),
            same_identity=await self._same_or_new(returned, reflashed=request.reflash),
        )

    async def _same_or_new(self, returned: Returned, *, reflashed: bool) -> bool:
        same = await self._is_same(returned)
        if reflashed:
            self.remember(returned)
        return same

    async def _is_same(self, returned: Returned) -> bool:
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
