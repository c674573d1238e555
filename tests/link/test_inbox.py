"""What came and was not yet asked for: who waits for it, and how long."""

import asyncio

import pytest

from commission.link.inbox import Inbox

SHORT_S, LONG_S = 0.05, 30.0


async def test_bytes_end_a_wait() -> None:
    """Who waits gets all that has come, and a later wait begins anew."""
    inbox = Inbox()
    asyncio.get_running_loop().call_later(SHORT_S, inbox.put, b"ok\n")

    assert b"ok\n" == await inbox.take(LONG_S)
    assert b"" == await inbox.take(SHORT_S)


@pytest.mark.parametrize("before_s", [0.0, SHORT_S / 2, LONG_S])
async def test_a_wait_lasts_as_long_as_it_may(before_s: float) -> None:
    """A wait comes to its end in its own time, whether the one before it was to last longer or less."""
    inbox = Inbox()
    asyncio.get_running_loop().call_soon(inbox.put, b"x")
    await inbox.take(before_s)
    await asyncio.sleep(0)
    await inbox.take(0.0)  # what came too late for a wait of no length

    async with asyncio.timeout(LONG_S):
        assert b"" == await inbox.take(SHORT_S)


async def test_each_of_two_waits_ends_by_itself() -> None:
    """A short wait beside a long one ends first; the long one still gets what comes."""
    inbox = Inbox()
    long = asyncio.ensure_future(inbox.take(LONG_S))
    await asyncio.sleep(0)

    assert b"" == await inbox.take(SHORT_S)
    assert not long.done()

    inbox.put(b"late")

    assert b"late" == await long


async def test_a_wait_broken_off_leaves_nobody() -> None:
    """After a cancelled wait the next one gets what comes."""
    inbox = Inbox()
    waiting = asyncio.ensure_future(inbox.take(LONG_S))
    await asyncio.sleep(0)
    waiting.cancel()
    with pytest.raises(asyncio.CancelledError):
        await waiting
    inbox.put(b"x")

    assert b"x" == await inbox.take(LONG_S)
