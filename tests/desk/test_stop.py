"""One flag for every way to stop."""

import asyncio
import os
import signal

import pytest

from commission.desk.base import OperatorStop
from commission.desk.signals import ENDING, give_back, take
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
    numbers = (signal.SIGINT, signal.SIGQUIT, signal.SIGTERM, signal.SIGHUP)
    before = [signal.getsignal(number) for number in numbers]
    flag = StopFlag()
    flag.listen()
    assert flag._caught == signal.getsignal(signal.SIGTERM)
    flag.release()

    assert before == [signal.getsignal(number) for number in numbers]


@posix_only
async def test_no_interrupt_reaches_the_loop() -> None:
    """However often Ctrl-C comes, heard or not, whoever had the signal before is not told: it would cancel the run."""
    seen: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, _frame: seen.append(number))
    flag = StopFlag()
    flag.listen()
    try:
        for _ in range(5):
            os.kill(os.getpid(), signal.SIGINT)
            await asyncio.wait_for(flag.wait(), 4)
    finally:
        flag.release()
        signal.signal(signal.SIGINT, before)

    assert [] == seen
    with pytest.raises(OperatorStop, match="stopped by Ctrl-C"):
        flag.check()


@posix_only
def test_an_ignored_hang_up_stays_ignored() -> None:
    """A program started so that it outlives its terminal does; every other signal is taken all the same."""
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        taken = take(ENDING, lambda _number, _frame: None)
        hang_up = signal.getsignal(signal.SIGHUP)
        give_back(taken)
    finally:
        signal.signal(signal.SIGHUP, before)

    assert signal.SIG_IGN is hang_up
    assert {signal.SIGINT, signal.SIGQUIT, signal.SIGTERM} == set(taken)


async def test_what_is_unstoppable_answers() -> None:
    """Within the block each stop is answered and nothing is ended; after it, the first of them counts."""
    flag, answers = StopFlag(), list[str]()

    with flag.unstoppable(lambda: answers.append("wait")):
        for reason in ("stopped by the stop key", "stopped by Ctrl-C", "the program was told to end"):
            flag.request(reason, final=reason == "the program was told to end")
        flag.check()
        assert "answered" == await flag.guard(answer())
        assert not flag.asked

    assert ["wait"] * 3 == answers
    with pytest.raises(OperatorStop, match="stopped by the stop key"):
        flag.check()
    assert flag.asked  # the program was told to end: nobody is there for any later question


async def test_work_in_the_block_is_not_cancelled() -> None:
    """A question that is open within the block is still open after a stop, and is answered."""
    flag, asked = StopFlag(), asyncio.Event()

    async def question() -> str:
        await asked.wait()
        return "yes"

    with flag.unstoppable(lambda: None):
        guarding = asyncio.create_task(flag.guard(question()))
        await asyncio.sleep(0)
        flag.request("stopped by Ctrl-C")
        await asyncio.sleep(0.01)
        assert not guarding.done()
        asked.set()

        assert "yes" == await guarding


async def test_an_unheard_key_waits_for_the_block() -> None:
    """A stop key that the run was not told of before the block began does not answer a question within it."""
    flag = StopFlag()
    flag.request("stopped by Ctrl-C")

    with flag.unstoppable(lambda: None):
        assert "answered" == await flag.guard(answer())

    with pytest.raises(OperatorStop, match="stopped by Ctrl-C"):
        flag.check()


async def test_nobody_is_asked_after_a_final_stop() -> None:
    """Where the program was told to end before the block began, a question within it is answered by a stop."""
    flag = StopFlag()
    flag.request("the program was told to end", final=True)

    with flag.unstoppable(lambda: None), pytest.raises(OperatorStop, match="the program was told to end"):
        await flag.guard(answer())


async def test_a_terminal_lost_in_the_block() -> None:
    """It is told to nobody and ends nothing; later questions are answered by a stop."""
    flag, answers = StopFlag(), list[str]()

    with flag.unstoppable(lambda: answers.append("wait")):
        flag.nobody_there()
        assert "answered" == await flag.guard(answer())

    assert [] == answers
    with pytest.raises(OperatorStop, match="the terminal is gone"):
        flag.check()


@posix_only
async def test_nothing_suspends_the_block() -> None:
    """Ctrl-Z is answered within the block, and a terminal that another program has stops nothing; both only there."""
    flag, answers = StopFlag(), list[str]()
    numbers = (signal.SIGTSTP, signal.SIGTTIN, signal.SIGTTOU)
    usual = signal.signal(signal.SIGTSTP, lambda _number, _frame: None)  # were it not held off, the tests would stop
    before = [signal.getsignal(number) for number in numbers]
    flag.listen()
    try:
        with flag.unstoppable(lambda: answers.append("wait")):
            within = [signal.getsignal(number) for number in numbers]
            signal.raise_signal(signal.SIGTSTP)
            await until(lambda: bool(answers))
        after = [signal.getsignal(number) for number in numbers]
    finally:
        flag.release()
        signal.signal(signal.SIGTSTP, usual)

    assert [flag._caught, signal.SIG_IGN, signal.SIG_IGN] == within
    assert before == after
    assert not flag.asked
