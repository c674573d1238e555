"""What came from the wire and was not yet asked for, and the loss that ended it."""

import asyncio

from commission.link.base import LinkLost
from commission.link.troubles import Loss

# A printer's longest known reply is some tens of kilobytes. Sixteen times a 64 KiB burst leaves room for every honest
# reply, while a far end that never stops talking cannot fill the memory.
FULL_BYTES = 1 << 20


class Inbox:
    """Bytes in order of arrival, then the loss. Used from the event loop's thread only."""

    def __init__(self) -> None:
        self._data = bytearray()
        self._loss: Loss | None = None
        self._waiting: list[asyncio.Future[None]] = []

    @property
    def full(self) -> bool:
        """Whether the wire should wait until somebody has read."""
        return len(self._data) >= FULL_BYTES

    @property
    def lost(self) -> bool:
        """Whether nothing more can come."""
        return self._loss is not None

    def put(self, data: bytes) -> None:
        """Keep what came."""
        self._data += data
        self._tell()

    def end(self, loss: Loss) -> None:
        """Nothing more will come, for this reason. The first reason stands."""
        if self._loss is None:
            self._loss = loss
        self._tell()

    def check(self) -> None:
        """Do nothing while the pipe lives.

        Raises:
            LinkLost: it is gone, whether or not bytes are left to read.
        """
        if self._loss is not None:
            raise self._loss.error() from self._loss.cause

    async def take(self, timeout_s: float) -> bytes:
        """All that has come, waiting at most `timeout_s` for the first byte.

        Raises:
            LinkLost: the pipe is gone and nothing is left to read.
        """
        if not self._data and self._loss is None:
            await self._wait(max(0.0, timeout_s))
        if not self._data:
            self.check()
        taken = bytes(self._data)
        self._data.clear()
        return taken

    async def _wait(self, timeout_s: float) -> None:
        """Until something comes, or the time is over: by one timer, for this is done hundreds of times a second."""
        loop = asyncio.get_running_loop()
        news = loop.create_future()
        self._waiting.append(news)
        timer = loop.call_later(timeout_s, _wake, news)
        try:
            await news
        finally:
            timer.cancel()
            self._waiting.remove(news)

    def _tell(self) -> None:
        for news in self._waiting:
            _wake(news)


def _wake(news: asyncio.Future[None]) -> None:
    if not news.done():
        news.set_result(None)


def never_opened(name: str) -> LinkLost:
    """The error for a pipe that is used before it was opened or after it was closed."""
    return LinkLost(f"The port {name} is not open.", "Open it first.")
