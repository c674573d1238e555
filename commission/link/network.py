"""A plain network port: bytes over TCP, without speed and control lines."""

import asyncio

from commission.link.address import Address
from commission.link.streaming import SEND_LIMIT_S, Endpoint, Report, StreamLink
from commission.link.troubles import Loss, hung_up, opening_error

CONNECT_LIMIT_S = 5.0  # on a local network an answer takes milliseconds; a silent host would hold us for minutes


MOST_SAID = 200


class _NetworkEnd(Endpoint):
    """A port server that has the port open for somebody else lets a second one in, says so, and hangs up.

    It can take longer for that than a connection takes to come about; but nothing is asked in the first second.
    """

    def __init__(self, name: str, report: Report) -> None:
        super().__init__(name, report)
        self._said = b""
        self._port = name

    def data_received(self, data: bytes) -> None:
        """Keep the bytes, and the first of them also for what may have to be told."""
        if not self.asked:
            self._said = (self._said + data)[:MOST_SAID]
        super().data_received(data)

    def loss(self, cause: BaseException | None) -> Loss:
        """What the far end said of it, as long as nothing was asked."""
        return super().loss(cause) if self.asked else hung_up(self._port, self._said, cause)


class SocketLink(StreamLink):
    """A Link over TCP. It has no speed of its own: any number is accepted and changes nothing."""

    def __init__(self, address: Address, report: Report, *, send_limit_s: float = SEND_LIMIT_S) -> None:
        super().__init__(address.text, report, send_limit_s=send_limit_s)
        self._address = address

    async def set_speed(self, speed_baud: int) -> None:
        """Accept any speed while the pipe lives; see Link."""
        endpoint, _ = self._opened()
        endpoint.inbox.check()
        self._report(f"{self._name} has no speed of its own; {speed_baud} baud is up to the far end")

    def _end(self) -> Endpoint:
        return _NetworkEnd(self._name, self._report)

    async def _connect(self, endpoint: Endpoint, speed_baud: int) -> asyncio.Transport:  # noqa: ARG002
        loop = asyncio.get_running_loop()
        try:
            async with asyncio.timeout(CONNECT_LIMIT_S):
                transport, _ = await loop.create_connection(
                    lambda: endpoint, self._address.host, self._address.tcp_port
                )
        except (OSError, UnicodeError) as error:  # UnicodeError: a host name that cannot be one
            raise opening_error(self._name, error) from error
        return transport
