"""One pair of far end and link per kind of wire, and the house rules every link test keeps."""

import asyncio
import threading
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import pytest

from commission.link.base import Link, LinkLost
from commission.link.port import ResetLines, make_link, open_device
from commission.link.threaded import ThreadLink
from tests.link.far_ends import FakePtyFarEnd, FakeSharedFarEnd, FakeSocketFarEnd, FarEnd, until
from tests.support.patience import PATIENCE_S


@dataclass
class Wire:
    """A far end that is up and a way to make links to it; `events` collects what the links tell."""

    kind: str
    far: FarEnd
    make: Callable[..., Link]
    events: list[str] = field(default_factory=list)

    def link(self, *, send_limit_s: float = 10.0) -> Link:
        """A new link, not yet open."""
        return self.make(self.far.address, on_event=self.events.append, send_limit_s=send_limit_s)

    async def opened(self, *, send_limit_s: float = 10.0) -> Link:
        """A new link, open at 115200 baud."""
        link = self.link(send_limit_s=send_limit_s)
        await link.open(115200)
        return link


def _device_by_thread(address: str, *, on_event: Callable[[str], None], send_limit_s: float) -> Link:
    """What make_link gives for a device name on Windows."""
    opener = partial(open_device, address, ResetLines.AS_IS)
    return ThreadLink(address, opener, on_event, send_limit_s=send_limit_s)


KINDS = ("device", "device by thread", "socket", "rfc2217")


@pytest.fixture(params=KINDS)
async def wire(request: pytest.FixtureRequest, tmp_path: Path) -> AsyncIterator[Wire]:
    """A wire of each kind in turn."""
    far: FarEnd
    if request.param.startswith("device"):
        far = FakePtyFarEnd(tmp_path)
    else:
        far = FakeSocketFarEnd() if request.param == "socket" else FakeSharedFarEnd()
    await far.start()
    yield Wire(request.param, far, _device_by_thread if request.param == "device by thread" else make_link)
    await far.stop()


@pytest.fixture(autouse=True)
async def house_rules() -> AsyncIterator[None]:
    """Whatever a test does, the loop's exception handler stays silent and no thread is left behind."""
    complaints: list[object] = []
    asyncio.get_running_loop().set_exception_handler(lambda _, context: complaints.append(context))
    yield
    await until(lambda: not link_threads())

    assert complaints == []
    assert link_threads() == []


def link_threads() -> list[str]:
    """The threads that links have started and that still run."""
    return [t.name for t in threading.enumerate() if t.name.startswith(("commission", "pySerial"))]


async def read(link: Link, count: int) -> bytes:
    """That many bytes or a few more; fewer when the line falls silent for good."""
    taken = bytearray()
    while len(taken) < count and (piece := await link.receive(PATIENCE_S)):
        taken += piece
    return bytes(taken)


async def read_until_lost(link: Link) -> bytes:
    """Everything up to the loss; runs into the test's own time limit when there is none."""
    taken = bytearray()
    try:
        while True:
            taken += await link.receive(0.5)
    except LinkLost:
        return bytes(taken)
