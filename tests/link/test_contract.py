"""What every link promises, shown on every kind of wire."""

import asyncio

import pytest

from commission.link.base import LinkError, LinkLost, PortBusy
from tests.link.conftest import KINDS, Wire, read, read_until_lost
from tests.support.patience import PATIENCE_S

# Opening and closing over RFC 2217 takes 0.7 s. What only concerns the reading thread is shown on a device read by one.
quick_wires = pytest.mark.parametrize("wire", [kind for kind in KINDS if kind != "rfc2217"], indirect=True)
STALLING = bytes(8 << 20)  # more than the buffers of a loopback connection hold


async def test_bytes_pass_both_ways(wire: Wire) -> None:
    """Whatever is sent arrives as it was, in both directions, every byte value included."""
    every = bytes(range(256))
    link = await wire.opened()

    await link.send(every)
    assert every == await wire.far.hear(256)
    await wire.far.say(every)
    assert every == await read(link, 256)

    await link.close()


async def test_silence_is_no_error(wire: Wire) -> None:
    """A silent line gives nothing after the time given, and after no time when none is given."""
    link = await wire.opened()

    assert await link.receive(0.01) == b""
    assert await link.receive(0) == b""

    await link.close()


@quick_wires
async def test_name_is_the_operators(wire: Wire) -> None:
    """A link is called what the operator wrote."""
    assert wire.far.address == wire.link().name


async def test_burst_arrives_complete(wire: Wire) -> None:
    """A burst of 200 kB arrives whole and in order."""
    burst = b"".join(b"%06d\n" % number for number in range(30_000))
    link = await wire.opened()

    talking = asyncio.create_task(wire.far.say(burst))
    assert burst == await read(link, len(burst))

    await talking
    await link.close()


@quick_wires  # and because its client takes bytes one by one: three megabytes would take ten seconds
async def test_unread_flood_is_held_back_and_then_read(wire: Wire) -> None:
    """Three megabytes that nobody reads are held back on the wire and complete once somebody does."""
    flood = bytes(3 << 20)
    link = await wire.opened()

    talking = asyncio.create_task(wire.far.say(flood))
    await asyncio.sleep(0.02)
    assert len(flood) == len(await read(link, len(flood)))

    await talking
    await link.close()


@quick_wires
async def test_waiting_receive_gets_what_comes(wire: Wire) -> None:
    """A receive that waits returns with the bytes as soon as they come."""
    link = await wire.opened()
    waiting = asyncio.create_task(link.receive(PATIENCE_S))
    await asyncio.sleep(0)

    await wire.far.say(b"ok\n")
    assert (await waiting)[:1] == b"o"

    await link.close()


@quick_wires
async def test_cancelled_receive_loses_nothing(wire: Wire) -> None:
    """Bytes that come after a receive was given up are there for the next one."""
    link = await wire.opened()
    waiting = asyncio.create_task(link.receive(PATIENCE_S))
    await asyncio.sleep(0)
    waiting.cancel()

    await wire.far.say(b"late")
    assert await read(link, 4) == b"late"

    await link.close()


async def test_unplugged_while_idle(wire: Wire) -> None:
    """After an unplug every call fails with LinkLost, which says what to do, and closing still works."""
    link = await wire.opened()

    await wire.far.vanish()
    assert await read_until_lost(link) == b""
    for _ in range(2):
        with pytest.raises(LinkLost, match="commission ports"):
            await link.receive(0)
        with pytest.raises(LinkLost):
            await link.send(b"M115\n")
        with pytest.raises(LinkLost):
            await link.set_speed(250000)
    await link.close()

    assert [f"connection to {link.name} lost"] == [event for event in wire.events if "lost" in event]


async def test_bytes_before_the_loss_come_first(wire: Wire) -> None:
    """What had arrived before the unplug is handed out before the loss is told."""
    link = await wire.opened()
    await wire.far.say(b"x" * 1000)
    first = await link.receive(PATIENCE_S)
    await wire.far.say(b"last words")
    await asyncio.sleep(0.02)

    await wire.far.vanish()
    assert first + await read_until_lost(link) == b"x" * 1000 + b"last words"

    await link.close()


@quick_wires
async def test_unplugged_while_waiting(wire: Wire) -> None:
    """A receive that waits at the moment of the unplug fails with LinkLost."""
    link = await wire.opened()
    waiting = asyncio.create_task(link.receive(PATIENCE_S))
    await asyncio.sleep(0)

    await wire.far.vanish()
    with pytest.raises(LinkLost):
        await waiting

    await link.close()


async def test_unplugged_while_writing(wire: Wire) -> None:
    """A send that is under way at the moment of the unplug fails with LinkLost."""
    link = await wire.opened()
    await link.send(b"x")
    await wire.far.hear(1)
    wire.far.stall()
    sending = asyncio.create_task(link.send(STALLING))
    await asyncio.sleep(0.02)

    await wire.far.vanish()
    with pytest.raises(LinkLost):
        await sending

    await link.close()


async def test_stalled_far_end_is_a_loss(wire: Wire) -> None:
    """A far end that takes no bytes for the limit is lost, and the advice is to power it off and on."""
    link = await wire.opened(send_limit_s=0.05)
    await link.send(b"x")
    await wire.far.hear(1)

    wire.far.stall()
    with pytest.raises(LinkLost, match="off and on"):
        await link.send(STALLING)
    with pytest.raises(LinkLost):
        await link.send(b"x")

    await link.close()


async def test_close_returns_while_the_far_end_stalls(wire: Wire) -> None:
    """Closing ends in spite of unsent bytes, and the send under way fails with LinkLost."""
    link = await wire.opened()
    await link.send(b"x")
    await wire.far.hear(1)
    wire.far.stall()
    sending = asyncio.create_task(link.send(STALLING))
    await asyncio.sleep(0.02)

    async with asyncio.timeout(PATIENCE_S):
        await link.close()

    with pytest.raises(LinkLost):
        await sending


async def test_close_does_not_hold_up_the_loop(wire: Wire) -> None:
    """While a link closes, the rest of the program goes on: a ticker ticks until it is done."""
    link = await wire.opened()
    closing = asyncio.create_task(link.close())
    ticks = 0
    while not closing.done():
        await asyncio.sleep(0)
        ticks += 1

    assert ticks > 1


async def test_close_twice_and_unopened(wire: Wire) -> None:
    """Closing is harmless before opening and a second time; a closed link refuses to work."""
    link = wire.link()
    await link.close()
    await link.open(115200)
    await link.close()
    await link.close()

    for call in (link.receive(0), link.send(b"x"), link.set_speed(9600)):
        with pytest.raises(LinkLost, match="not open"):
            await call


@quick_wires
async def test_closed_while_waiting(wire: Wire) -> None:
    """A receive that waits while the link is closed fails with LinkLost."""
    link = await wire.opened()
    waiting = asyncio.create_task(link.receive(PATIENCE_S))
    await asyncio.sleep(0)

    await link.close()
    with pytest.raises(LinkLost, match="closed"):
        await waiting


async def test_last_bytes_leave_before_closing(wire: Wire) -> None:
    """What was sent just before closing still reaches the far end."""
    link = await wire.opened()

    await link.send(b"M104 S0\n")
    await link.close()

    assert await wire.far.hear(8) == b"M104 S0\n"


async def test_opens_again_after_closing(wire: Wire) -> None:
    """A closed link can be opened again at once and works."""
    link = await wire.opened()
    await link.close()
    await link.open(250000)

    await link.send(b"M115\n")
    assert await wire.far.hear(5) == b"M115\n"

    await link.close()


@quick_wires
async def test_open_link_refuses_to_open(wire: Wire) -> None:
    """Opening an open link is refused and leaves it working."""
    link = await wire.opened()

    with pytest.raises(PortBusy):
        await link.open(115200)
    await link.send(b"x")
    assert await wire.far.hear(1) == b"x"

    await link.close()


async def test_speed_changes_on_the_open_link(wire: Wire) -> None:
    """The speed changes to 250000 and back without closing, and bytes still pass."""
    link = await wire.opened()

    for speed_baud in (250000, 115200):
        await link.set_speed(speed_baud)
    await link.send(b"x")
    assert await wire.far.hear(1) == b"x"

    await link.close()


async def test_nobody_there(wire: Wire) -> None:
    """Opening a port behind which nobody is gives an error with advice, and the link stays usable."""
    link = wire.link()
    await wire.far.vanish()

    with pytest.raises(LinkError) as caught:
        await link.open(115200)
    assert caught.value.advice
    assert caught.value.__cause__ is not None


@quick_wires
async def test_events_are_told(wire: Wire) -> None:
    """Opening, a change of speed and closing are told in this order, opening with its warning."""
    link = await wire.opened()
    await link.set_speed(250000)
    await link.close()

    assert len(wire.events) == 3
    assert "may have restarted the board" in wire.events[0]
    assert "250000" in wire.events[1]
    assert f"closed {link.name}" == wire.events[2]
