"""One socket of the board: an input with its pull, and the switch of its own that may be plugged into it."""

from collections.abc import Sequence
from random import Random

from fake_printer.board import FreeInput
from fake_printer.circuit import Link, solve
from fake_printer.socket_spec import SocketSpec
from fake_printer.specs import InputSpec


class Socket:
    """An input that is read as it is.

    Attributes:
        spec: how it is built. assigned: the firmware has been told of it.
        own_plugged: the switch that belongs into it is plugged in. own_hit: something is against that switch.
        small_laid, large_laid: 1 kilohm, or 220 kilohm, lies from signal to ground.
    """

    def __init__(self, spec: SocketSpec, seed: str) -> None:
        self.spec = spec
        self.assigned = spec.reported
        self.own_plugged = spec.own != "none"
        self.own_hit = False
        self.small_laid = self.large_laid = False
        self.pull: str = spec.pull
        self._seed = f"{seed}/socket/{spec.name}"
        self._power_ups = 0
        self._circuit = solve(())
        self._free = self._drawn()

    @property
    def own_links(self) -> list[Link]:
        """What its own switch joins now."""
        closed = self.own_hit == (self.spec.own == "closes")
        return [("board.signal", "board.ground")] if self.own_plugged and closed else []

    @property
    def shorted(self) -> bool:
        """Whether what is plugged in shorts the supply."""
        return self._circuit.supply_shorted

    @property
    def level(self) -> str:
        """What stands at the input: high, low, or floating."""
        if self._circuit.held is None and self.small_laid:
            return "low"  # no pull of a board holds against 1 kilohm
        if self._circuit.held is None and self.large_laid and self.pull == "none":
            return "low"
        return self._circuit.held or {"up": "high", "down": "low", "none": "floating"}[self.pull]

    @property
    def high(self) -> bool:
        """What the input reads at this instant."""
        return self._free.high if self.level == "floating" else self.level == "high"

    @property
    def triggered(self) -> bool:
        """What the switch report says of it."""
        return self.high == (self.spec.triggered_level == "high")

    def look(self, links: Sequence[Link]) -> None:
        """Take note of which terminals touch now."""
        self._circuit = solve(links)

    def hold(self, number: int) -> bool:
        """Make it an input with a pull-up until the next start, if it is this pin."""
        if number == self.spec.number:
            self.pull = "up"
        return number == self.spec.number

    def power_up(self) -> None:
        """Draw anew what depends on the power-up."""
        self._power_ups += 1
        self.pull = self.spec.pull
        self.assigned = self.spec.reported
        self._free = self._drawn()

    def advance(self, elapsed_s: float) -> None:
        """Let time pass."""
        self._free.advance(elapsed_s)

    def _drawn(self) -> FreeInput:
        spec = InputSpec(flips_per_s=self.spec.flips_per_s, sticks_per_power_up=self.spec.sticks_per_power_up)
        return FreeInput(spec, Random(f"{self._seed}/{self._power_ups}"))
