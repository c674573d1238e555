"""The link against a port server that this project did not write: ser2net in front of a pseudo-terminal."""

import asyncio
import contextlib
import socket
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from commission.link.base import Link, LinkError, PortBusy, PortUnusable
from commission.link.port import make_link
from tests.link.far_ends import FakePtyFarEnd
from tests.support.patience import PATIENCE_S
from tests.support.programs import needs_program

# `local` and `nouucplock` because the far end is a pseudo-terminal; `nodelay` and no `chardelay` as measured fastest
SETTINGS = """\
%YAML 1.1
---
connection: &shared
    accepter: telnet(rfc2217=true),tcp(nodelay=true),127.0.0.1,{shared}
    connector: serialdev(nouucplock=true),{device},115200n81,local
    options:
        kickolduser: true
        chardelay: false
connection: &plain
    accepter: tcp(nodelay=true),127.0.0.1,{plain}
    connector: serialdev(nouucplock=true),{device},115200n81,local
    options:
        kickolduser: true
        chardelay: false
"""


@dataclass
class PortServer:
    """A running port server and the board behind it."""

    board: FakePtyFarEnd
    addresses: dict[str, str]


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


async def _listening(port: int) -> None:
    async with asyncio.timeout(PATIENCE_S):
        while True:
            with contextlib.suppress(ConnectionRefusedError):
                _, writer = await asyncio.open_connection("127.0.0.1", port)
                writer.close()
                await writer.wait_closed()
                return
            await asyncio.sleep(0.01)


async def _opened(address: str) -> Link:
    """An open link; the server lets go of the board a moment after the connection by which it was waited for.

    Until then it says that the port is in use, or, on a busy machine, leaves the terms of a connection unanswered.
    """
    async with asyncio.timeout(PATIENCE_S):
        while True:
            link = make_link(address)
            try:
                await link.open(115200)
            except (PortBusy, PortUnusable):
                await link.close()
                await asyncio.sleep(0.05)
            else:
                return link


@pytest.fixture
async def server(tmp_path: Path) -> AsyncIterator[PortServer]:
    """ser2net with one shared and one plain port to the same board."""
    program = needs_program("ser2net")
    board = FakePtyFarEnd(tmp_path)
    await board.start()
    shared, plain = _free_port(), _free_port()
    settings = tmp_path / "ser2net.yaml"
    settings.write_text(SETTINGS.format(shared=shared, plain=plain, device=board.address))
    arguments = ("-n", "-d", "-c", str(settings), "-P", str(tmp_path / "pid"))
    quiet = asyncio.subprocess.DEVNULL
    process = await asyncio.create_subprocess_exec(program, *arguments, stdout=quiet, stderr=quiet)
    try:
        await _listening(plain)
        yield PortServer(
            board,
            {
                # a pseudo-terminal has no control lines, so the server never answers requests about them
                "rfc2217": f"rfc2217://127.0.0.1:{shared}?ign_set_control&timeout=10",
                "socket": f"socket://127.0.0.1:{plain}",
            },
        )
    finally:
        process.kill()
        await process.wait()
        await board.stop()


@pytest.mark.parametrize("kind", ["rfc2217", "socket"])
async def test_bytes_pass_through_a_port_server(server: PortServer, kind: str) -> None:
    """Bytes pass both ways through a foreign port server, and its speed can be changed."""
    link = await _opened(server.addresses[kind])
    await link.set_speed(250000)

    await link.send(b"M115\n")
    assert await server.board.hear(5) == b"M115\n"
    await server.board.say(b"ok\xff\n")
    heard = bytearray()
    while len(heard) < 4 and (piece := await link.receive(PATIENCE_S)):
        heard += piece
    assert heard == b"ok\xff\n"

    await link.close()


async def test_device_behind_a_port_server_vanishes(server: PortServer) -> None:
    """When the board behind a foreign port server is unplugged, the link is lost or silent, never stuck."""
    link = await _opened(server.addresses["rfc2217"])
    await server.board.vanish()

    with contextlib.suppress(LinkError):
        assert await link.receive(0.5) == b""

    await link.close()
