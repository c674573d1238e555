"""The signals around a guided run: remembered before it, without effect after it, and never a cancellation."""

import asyncio
import os
import signal
from collections.abc import Iterator

import click
import pytest

from commission.cli.signals import OwnProcess, Signals, end_undisturbed

pytestmark = pytest.mark.skipif(os.name == "nt", reason="signals can be sent to oneself on POSIX only")
NUMBERS = (signal.SIGINT, signal.SIGTERM, signal.SIGQUIT)


def handlers() -> list[object]:
    """What handles each signal now."""
    return [signal.getsignal(number) for number in NUMBERS]


@pytest.fixture(autouse=True)
def _as_before() -> Iterator[None]:
    """Whatever a test leaves taken, as a process does at its end, is put back."""
    before = {number: signal.getsignal(number) for number in (*NUMBERS, signal.SIGHUP)}
    yield
    for number, handler in before.items():
        signal.signal(number, handler)


def test_the_event_loop_cancels_nothing() -> None:
    """Ctrl-C, pressed twice while nobody listens, ends no task: the loop leaves the signal to who has taken it."""

    async def work() -> str:
        for _ in range(2):
            os.kill(os.getpid(), signal.SIGINT)
            await asyncio.sleep(0.01)
        return "done"

    with Signals() as signals:
        assert "done" == asyncio.run(work())

    assert "stopped by Ctrl-C" == signals.asked


def test_the_first_signal_is_remembered() -> None:
    """What was asked for before the run began is known by its first reason."""
    with Signals() as signals:
        os.kill(os.getpid(), signal.SIGTERM)
        os.kill(os.getpid(), signal.SIGINT)

    assert "the program was told to end" == signals.asked


def test_signals_are_given_back() -> None:
    """In a process that goes on, every signal does afterwards what it did before."""
    before = handlers()

    with Signals():
        assert before != handlers()

    assert before == handlers()


@click.command()
@click.pass_context
def _command(context: click.Context) -> None:
    with Signals():
        taken = handlers()
    assert taken == handlers()
    assert end_undisturbed(context)


def test_a_process_of_its_own_ends_undisturbed() -> None:
    """Where the command is all that the process does, the signals stay without effect to its end."""
    _command.main([], standalone_mode=False, obj=OwnProcess())

    assert [signal.SIG_IGN] * 3 == handlers()


def test_a_command_called_by_another_program_ignores_nothing() -> None:
    """Called from a program that goes on, a command does not take its signals for good."""
    before = handlers()

    assert not end_undisturbed(None)
    assert before == handlers()
