"""One flag for every way to stop."""

import asyncio
import os
import signal

import pytest

from commission.desk.base import OperatorStop
from commission.desk.stop import StopFlag
from tests.desk.fakes import until

posix_only = pytest.mark.skipif(os.name == "nt", reason="signals can be sent to oneself on POSIX only")


async def answer() -> str:
    """Something that is there at once."""
    return "answered"


async def test_stop_is_raised_once() -> None:
    """A stop asked for by a key is raised once, with the first reason given."""
    flag = StopFlag()
    flag.check()
    flag.request("stopped by the stop key")
    flag.request("later")

    with pytest.raises(OperatorStop, match="stopped by the stop key"):
        flag.check()
    assert "answered" == await flag.guard(answer())


async def test_final_stop_stays() -> None:
    """A stop after which nobody is there is raised again and again."""
    flag = StopFlag()
    flag.nobody_there()

    for _ in range(2):
        with pytest.raises(OperatorStop, match="the terminal is gone"):
            await flag.guard(answer())


async def test_work_is_cancelled_by_the_stop() -> None:
    """Work that is under way when the stop comes is cancelled and waited for."""
    flag = StopFlag()
    ended = []

    async def work() -> None:
        try:
            await asyncio.Event().wait()
        finally:
            ended.append("tidied")

    guarding = asyncio.create_task(flag.guard(work()))
    await asyncio.sleep(0)
    await asyncio.sleep(0)
    flag.request("enough")

    with pytest.raises(OperatorStop, match="enough"):
        await guarding
    assert ["tidied"] == ended


async def test_error_of_the_work() -> None:
    """An error of the work comes through as it is."""

    async def work() -> None:
        raise RuntimeError("broken")

    with pytest.raises(RuntimeError, match="broken"):
        await StopFlag().guard(work())


@posix_only
async def test_signals_are_given_back() -> None:
    """After the release every signal does what it did before."""
    before = [signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)]
    flag = StopFlag()
    flag.listen()
    assert flag._caught == signal.getsignal(signal.SIGTERM)
    flag.release()

    assert before == [signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)]


@posix_only
async def test_second_interrupt() -> None:
    """A second Ctrl-C that finds the first one unheard goes to whoever had the signal before."""
    seen: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, _frame: seen.append(number))
    flag = StopFlag()
    flag.listen()
    try:
        os.kill(os.getpid(), signal.SIGINT)
        await asyncio.wait_for(flag.wait(), 4)
        assert [] == seen
        os.kill(os.getpid(), signal.SIGINT)
        await until(lambda: bool(seen))
    finally:
        flag.release()
        signal.signal(signal.SIGINT, before)

    assert [signal.SIGINT] == seen
