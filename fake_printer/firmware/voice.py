"""What a family of firmware has its own words for, and the type of the handlers that use them."""

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Protocol

from fake_printer.firmware.command import Command
from fake_printer.firmware.intake import Refusal
from fake_printer.memory import Retrieval

if TYPE_CHECKING:
    from fake_printer.firmware.core import Firmware

# What a handler waits for: seconds, or a condition.
Wait = float | Callable[[], bool]
Steps = Iterator[Wait]
# A handler says its lines at once and returns nothing, or returns the steps of something that takes time.
Handler = Callable[["Firmware", Command], Steps | None]


class Voice(Protocol):
    """The wording of one family; one object per life of the firmware.

    Attributes:
        ok_first: the acknowledgement comes before the answer.
        asks_again_s: a line that was not taken is asked for again so often until one is; 0 for once only.
        handlers: what answers to which command.
    """

    ok_first: bool
    asks_again_s: float
    handlers: dict[str, Handler]

    def ok(self, firmware: "Firmware", command: Command, data: str) -> str | None:
        """The acknowledgement, None for none; `data` is what the handler wants on the same line."""
        ...

    def unknown(self, command: Command) -> list[str]:
        """What is said to a command that is not known, before the acknowledgement."""
        ...

    def refused(self, refusal: Refusal) -> list[str]:
        """What is said to a line that was not taken; it includes the acknowledgement, if any."""
        ...

    def banner(self, cause: str, firmware: "Firmware", retrieval: Retrieval | None) -> list[str]:
        """What is said after a restart; `retrieval` is how reading the settings memory went."""
        ...

    def busy(self, state: str) -> list[str]:
        """What is said while something long runs."""
        ...

    def killed(self) -> list[str]:
        """The last words after an emergency stop."""
        ...

    def watching_on(self, firmware: "Firmware") -> bool:
        """Whether the runout logic is switched on."""
        ...

    def in_job(self, firmware: "Firmware") -> bool:
        """Whether the runout logic looks at the input now."""
        ...

    def leftover_mm(self, firmware: "Firmware") -> float:
        """How much is fed after the input changed before anything is done."""
        ...

    def run_out(self, firmware: "Firmware", times: int) -> None:
        """A runout is established, for the so-many-th time in this life: say and do what follows."""
        ...
