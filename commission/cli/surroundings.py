"""What a guided run finds around it: the time and the ports."""

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

import click

from commission.clock import Clock, SystemClock
from commission.link.base import Link
from commission.link.port import ResetLines, make_link


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
    """

    clock: Clock = field(default_factory=SystemClock)
    make_link: LinkMaker = make_link
    new_loop: Callable[[], asyncio.AbstractEventLoop] | None = None


def surroundings() -> Surroundings:
    """Those of the command that is being carried out."""
    context = click.get_current_context(silent=True)
    found = context.find_object(Surroundings) if context is not None else None
    return found or Surroundings()
