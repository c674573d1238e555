"""What is particular to network ports: control lines over RFC 2217, far ends that are none."""

import asyncio
from collections.abc import AsyncIterator

import pytest

from commission.link.base import Link, LinkLost, PortBusy, PortUnusable
from commission.link.port import ResetLines, make_link
from tests.link.far_ends import FakeSharedFarEnd, FakeSocketFarEnd
from tests.support.patience import PATIENCE_S


@pytest.fixture
async def shared() -> AsyncIterator[FakeSharedFarEnd]:
    """A port server that speaks RFC 2217."""
    far = FakeSharedFarEnd()
    await far.start()
    yield far
    await far.stop()


@pytest.fixture
async def plain() -> AsyncIterator[FakeSocketFarEnd]:
    """A plain network port."""
    far = FakeSocketFarEnd()
    await far.start()
    yield far
    await far.stop()


async def test_speed_reaches_the_port_server(shared: FakeSharedFarEnd) -> None:
    """The speed of the far port is the one asked for, when opening and after a change."""
    link = make_link(shared.address)
    await link.open(115200)
    assert shared.uart.baudrate == 115200
    await link.set_speed(250000)
    assert shared.uart.baudrate == 250000
    await link.close()


async def test_impossible_speed_is_refused(shared: FakeSharedFarEnd) -> None:
    """A speed of zero is refused and the link goes on working."""
    link = make_link(shared.address)
    await link.open(115200)
    with pytest.raises(PortUnusable, match="refuses the speed 0 baud"):
        await link.set_speed(0)

    await link.send(b"x")
    assert await shared.hear(1) == b"x"

    await link.close()


@pytest.mark.parametrize(
    ("reset", "history"),
    [(ResetLines.AS_IS, [True]), (ResetLines.HOLD_LOW, [False]), (ResetLines.PULSE, [True, False, True])],
)
async def test_control_line(shared: FakeSharedFarEnd, reset: ResetLines, history: list[bool]) -> None:
    """The line that restarts boards is raised as ever, held low, or dropped once, as was asked."""
    link = make_link(shared.address, reset=reset)
    await link.open(115200)
    await link.close()

    assert history == shared.uart.dtr_history


async def test_reset_on_a_plain_port_is_told(plain: FakeSocketFarEnd) -> None:
    """On a plain network port, asking for a pulse is answered with the news that there are no lines."""
    events: list[str] = []
    link = make_link(plain.address, reset=ResetLines.PULSE, on_event=events.append)
    await link.open(115200)
    await link.close()

    assert "no control lines" in events[0]


async def test_plain_port_is_no_shared_port(plain: FakeSocketFarEnd) -> None:
    """A far end that does not speak RFC 2217 is refused with the form of address to use instead."""
    address = plain.address.replace("socket://", "rfc2217://") + "?timeout=0.1"

    with pytest.raises(PortUnusable, match="socket://HOST:PORT"):
        await make_link(address).open(115200)


async def test_far_end_that_hangs_up_at_once() -> None:
    """A port server that hangs up at once is taken as used by somebody else, and no trace is shown."""

    async def refuse(_: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        writer.transport.abort()

    server = await asyncio.start_server(refuse, "127.0.0.1", 0)
    port = server.sockets[0].getsockname()[1]

    async with server:
        with pytest.raises((PortBusy, PortUnusable)):
            await make_link(f"rfc2217://127.0.0.1:{port}?timeout=0.2").open(115200)


@pytest.mark.parametrize(
    ("said", "busy"),
    [(b"Port already in use\r\n", True), (b"\xff\xfb\x03The line is BUSY\r\n", True), (b"No such device\r\n", False)],
)
async def test_port_server_says_why_it_hangs_up(said: bytes, busy: bool) -> None:
    """A plain port that somebody else has is told as busy, in the server's words; what else it says, as a loss."""
    address, server = await _saying(said)
    async with server:
        link = make_link(address)
        await link.open(115200)
        with pytest.raises(LinkLost, match=said[-6:].decode().strip()) as lost:
            await _to_the_end(link)
        await link.close()

    assert busy is isinstance(lost.value, PortBusy)


async def test_what_a_board_said_last_is_no_port_server(plain: FakeSocketFarEnd) -> None:
    """Once anything was asked, the end of the connection is a loss, whatever came before it."""
    link = make_link(plain.address)
    await link.open(115200)
    await link.send(b"M115\n")
    await plain.hear(5)
    await plain.say(b"echo:busy: processing\n")
    await plain.vanish()
    with pytest.raises(LinkLost) as lost:
        await _to_the_end(link)
    await link.close()

    assert not isinstance(lost.value, PortBusy)


async def _to_the_end(link: Link) -> None:
    while await link.receive(PATIENCE_S):
        pass


async def _saying(said: bytes) -> tuple[str, asyncio.Server]:
    """A port that says this to everybody and hangs up."""

    async def meet(_: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        writer.write(said)
        await writer.drain()
        writer.close()

    server = await asyncio.start_server(meet, "127.0.0.1", 0)
    return f"socket://127.0.0.1:{server.sockets[0].getsockname()[1]}", server


async def test_host_name_that_cannot_be_one() -> None:
    """A host name that no computer can have is called unknown."""
    with pytest.raises(PortUnusable, match="not known"):
        await make_link(f"socket://{'a' * 70}:7001").open(115200)
