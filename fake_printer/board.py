"""The board: its supply and the input pin. Whether the firmware runs is decided here; what it does is not."""

from collections.abc import Iterable
from dataclasses import dataclass
from random import Random

from fake_printer.circuit import Circuit, Link, solve
from fake_printer.plant import NEVER_S
from fake_printer.specs import BoardSpec, InputSpec


class FreeInput:
    """An input that nothing holds: a seeded random telegraph signal, drawn anew at every power-up."""

    def __init__(self, spec: InputSpec, rng: Random) -> None:
        self._rate_per_s = spec.flips_per_s
        self._rng = rng
        self.high = rng.random() < spec.rests_high
        self._sticks = rng.random() < spec.sticks_per_power_up
        self._left_s = rng.expovariate(self._rate_per_s)

    def advance(self, elapsed_s: float) -> None:
        """Let time pass."""
        self._left_s -= elapsed_s
        while self._left_s <= 1e-12:
            self._left_s += self._rng.expovariate(self._rate_per_s)
            if not self._sticks:
                self.high = not self.high

    def until_next_s(self) -> float:
        """Seconds until it flips; never when it keeps its level."""
        return NEVER_S if self._sticks else self._left_s


@dataclass(frozen=True)
class Laid:
    """A resistor between two leads at the header: from signal to ground, or to supply."""

    ohm: float
    to: str

    def share_high(self, pull: str, pull_ohm: float) -> float:
        """The part of the supply voltage at the signal, with this pull and no leakage."""
        own_high, pull_high = float(self.to == "supply"), {"up": 1.0, "down": 0.0}.get(pull)
        if pull_high is None:
            return own_high
        return (own_high / self.ohm + pull_high / pull_ohm) / (1 / self.ohm + 1 / pull_ohm)


_READS_HIGH, _READS_LOW = 0.7, 0.3
"""Parts of the supply voltage: from memory, as common inputs state them."""


class Board:
    """Supply and input, and what the wiring makes of them.

    Attributes:
        mains_on, usb_in: what feeds the logic supply; either is enough.
        bridges: terminals of the header that a hand has bridged.
        laid: the resistor between two leads at the header; None for none.
        disturbed: what the cable picks up turns the level at the input round at this instant.
        shorted_elsewhere: what is plugged into another socket shorts the supply.
    """

    def __init__(self, spec: BoardSpec, seed: str) -> None:
        self.spec = spec
        self.input = spec.input
        self.mains_on = True
        self.usb_in = True
        self.bridges: set[Link] = set()
        self.laid: Laid | None = None
        self.disturbed = False
        self.shorted_elsewhere = False
        self._seed = seed
        self._power_ups = 0
        self._shorted_for_s = 0.0
        self._circuit = solve(())
        self._seen: tuple[Link, ...] = ()
        self._free = FreeInput(spec.input, Random(f"{seed}/input/0"))

    @property
    def fed(self) -> bool:
        """Whether anything feeds the logic supply."""
        return self.mains_on or self.usb_in

    @property
    def browned_out(self) -> bool:
        """Whether a short has pulled the supply down for longer than it can ride through."""
        return self.shorted and self._shorted_for_s >= self.spec.hold_up_ms / 1000

    @property
    def shorted(self) -> bool:
        """Whether anything shorts the supply now."""
        return self._circuit.supply_shorted or self.shorted_elsewhere

    @property
    def alive(self) -> bool:
        """Whether the logic supply is there."""
        return self.fed and not self.browned_out

    @property
    def level(self) -> str:
        """What stands at the input: high, low, or floating."""
        if self.input.driven != "no":
            return self.input.driven
        if self._circuit.held is not None:
            return self._circuit.held
        if self.laid is not None:
            share = self.laid.share_high(self.input.pull, self.input.pull_ohm)
            return "high" if share >= _READS_HIGH else "low" if share <= _READS_LOW else "floating"
        return {"up": "high", "down": "low", "none": "floating"}[self.input.pull]

    @property
    def pin_high(self) -> bool:
        """What the input reads at this instant."""
        level = self.level
        return (self._free.high if level == "floating" else level == "high") != self.disturbed

    @property
    def circuit(self) -> Circuit:
        """What the wiring makes of the signal and the supply."""
        return self._circuit

    def power_up(self) -> None:
        """Draw anew what depends on the power-up."""
        self._power_ups += 1
        self._free = FreeInput(self.input, Random(f"{self._seed}/input/{self._power_ups}"))

    def look(self, links: Iterable[Link]) -> None:
        """Take note of which terminals touch now."""
        now = (*links, *sorted(self.bridges))
        if now != self._seen:
            self._seen = now
            self._circuit = solve(now)
        if not self.shorted:
            self._shorted_for_s = 0.0

    def advance(self, elapsed_s: float) -> None:
        """Let time pass, with the wiring as last looked at."""
        self._free.advance(elapsed_s)
        if self.shorted:
            self._shorted_for_s += elapsed_s

    def until_next_s(self, *, watched: bool = True) -> float:
        """Seconds for which nothing here changes by itself; the flips of a free input count while it is watched."""
        hold_s = self.spec.hold_up_ms / 1000 - self._shorted_for_s
        until_down_s = max(hold_s, 1e-6) if self.shorted and not self.browned_out else NEVER_S
        flips = watched and self.level == "floating"
        return min(self._free.until_next_s() if flips else NEVER_S, until_down_s)
