"""What a guided run finds around it: the time and the ports."""

import asyncio
import gc
from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

import click

from commission.clock import Clock, SystemClock
from commission.link.base import Link
from commission.link.port import ResetLines, make_link
from commission.records.chain import CheckedSoFar

_T = TypeVar("_T")


class LinkMaker(Protocol):
    """Builds a link to an address, not yet open."""

    def __call__(self, address: str, *, reset: ResetLines) -> Link:
        """The link; `reset` says what to do with the control lines on opening."""
        ...


@dataclass(frozen=True)
class Surroundings:
    """The machine itself, unless whoever calls the command line hands other ones to it, as `main(obj=...)`.

    So a whole command can be carried out in simulated time, with nothing of it replaced.

    Attributes:
        clock: what the time is and how it is waited for.
        make_link: how a port is reached.
        new_loop: makes the event loop the run lives in; None for the usual one.
        hand: the one thread that writes into the book for all runs of this process; None for one of each run's own.
        eye: the one thread that reads records and draws reports for all runs; None to do it in the loop, where no other
            run waits.
        checked: how far the book's chains were checked already for a report; None to check it for each.
    """

    clock: Clock = field(default_factory=SystemClock)
    make_link: LinkMaker = make_link
    new_loop: Callable[[], asyncio.AbstractEventLoop] | None = None
    hand: Executor | None = None
    eye: Executor | None = None
    checked: CheckedSoFar | None = None

    async def written(self, work: Callable[[], _T]) -> _T:
        """What writes into the book, in turn with the other runs' entries."""
        return await _done_by(self.hand, work)

    async def aside(self, work: Callable[[], _T]) -> _T:
        """What takes the processor for long, so that other runs of this process go on meanwhile."""
        return await _done_by(self.eye, work)


async def _done_by(thread: Executor | None, work: Callable[[], _T]) -> _T:
    if thread is None:
        return work()
    return await asyncio.get_running_loop().run_in_executor(thread, work)


def surroundings() -> Surroundings:
    """Those of the command that is being carried out."""
    context = click.get_current_context(silent=True)
    found = context.find_object(Surroundings) if context is not None else None
    return found or Surroundings()


def settle_memory() -> None:
    """Take what was loaded out of the garbage collector's sight, for as long as the process lives.

    Going through all of it takes the collector about 30 ms, in which a dense watch would read nothing.
    """
    gc.freeze()
