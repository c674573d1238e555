"""What a family of firmware has its own words for, and the type of the handlers that use them.

Both are written for a firmware `F` that is not known here: the firmware has a voice, so the voice must not need it.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Protocol, TypeVar

from fake_printer.firmware.command import Command
from fake_printer.firmware.intake import Refusal
from fake_printer.memory import Retrieval

F = TypeVar("F")


@dataclass
class Patience:
    """A wait for something that may not come.

    Attributes:
        until: what is waited for; it comes true only by what is done or moves here, never by the time alone.
        left_s: how long it is still waited for.
    """

    until: Callable[[], bool]
    left_s: float = math.inf


# What a handler waits for: seconds, or a condition.
Wait = float | Patience
Steps = Iterator[Wait]
# A handler says its lines at once and returns nothing, or returns the steps of something that takes time.
Handler = Callable[[F, Command], Steps | None]


class Voice(Protocol[F]):
    """The wording of one family; one object per life of the firmware.

    Attributes:
        ok_first: the acknowledgement comes before the answer.
        asks_again_s: a line that was not taken is asked for again so often until one is; 0 for once only.
        handlers: what answers to which command.
    """

    ok_first: bool
    asks_again_s: float
    handlers: dict[str, Handler[F]]

    def ok(self, firmware: F, command: Command, data: str) -> str | None:
        """The acknowledgement, None for none; `data` is what the handler wants on the same line."""
        ...

    def unknown(self, command: Command) -> list[str]:
        """What is said to a command that is not known, before the acknowledgement."""
        ...

    def refused(self, refusal: Refusal) -> list[str]:
        """What is said to a line that was not taken; it includes the acknowledgement, if any."""
        ...

    def banner(self, cause: str, firmware: F, retrieval: Retrieval | None) -> list[str]:
        """What is said after a restart; `retrieval` is how reading the settings memory went."""
        ...

    def busy(self, state: str) -> list[str]:
        """What is said while something long runs."""
        ...

    def killed(self) -> list[str]:
        """The last words after an emergency stop."""
        ...

    def watching_on(self, firmware: F) -> bool:
        """Whether the runout logic is switched on."""
        ...

    def in_job(self, firmware: F) -> bool:
        """Whether the runout logic looks at the input now."""
        ...

    def begins(self, firmware: F) -> None:
        """A life begins: it serves from now on, unless this makes it wait."""
        ...

    def passes(self, elapsed_s: float) -> None:
        """Time passes in a life that has begun."""
        ...

    def leftover_mm(self, firmware: F) -> float:
        """How much is fed after the input changed before anything is done."""
        ...

    def run_out(self, firmware: F, times: int) -> None:
        """A runout is established, for the so-many-th time in this life: say and do what follows."""
        ...
