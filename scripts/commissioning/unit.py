"""One unit to commission: its wiring, its faults, and the truth about it."""

from dataclasses import dataclass, field
from enum import StrEnum

from scripts.commissioning.circuit import Link, Wiring, reads_in


class Harm(StrEnum):
    """In which way a unit is not sound."""

    INVERTED = "inverted"
    STUCK = "never changes"
    FAIL_DANGER = "fail-danger"
    UNHELD = "unheld input"
    MISREADS = "misreads"
    INTERMITTENT = "intermittent"
    NOISY = "noisy"
    SHORTS = "shorts its supply"


@dataclass(frozen=True)
class Loose:
    """What an input does that nothing holds.

    Attributes:
        rests_out: probability that it rests at *out* after a power-up.
        flips_per_s: how often it changes by itself; 0 for one that stays where it rests.
    """

    rests_out: float = 0.5
    flips_per_s: float = 0.0


@dataclass(frozen=True)
class Cable:
    """A cable that lets go for moments: openings per second at rest and while it is worked, and their mean length."""

    at_rest_per_s: float = 0.0
    worked_per_s: float = 0.0
    open_s: float = 0.03


@dataclass(frozen=True)
class Unit:
    """A unit as it stands on the bench.

    Attributes:
        sticks_in, sticks_out: share of insertions, of withdrawals, in which the lever stays where it was.
        reached: the filament reaches the lever at all.
        noise: probability that a single raw reading is wrong.
        bounce_s: mean length of the bounce after a contact moved.
        unread: probability that a single answer cannot be understood.
        restarts_on_opening: opening the port restarts the board, so that a banner proves nothing.
        plug_at_sensor: the cable can be unplugged at the sensor too.
    """

    wiring: Wiring = field(default_factory=Wiring)
    loose: Loose = field(default_factory=Loose)
    cable: Cable = field(default_factory=Cable)
    sticks_in: float = 0.0
    sticks_out: float = 0.0
    reached: bool = True
    noise: float = 0.0
    bounce_s: float = 0.003
    unread: float = 0.0
    restarts_on_opening: bool = False
    plug_at_sensor: bool = False

    def reads(self, *, inside: bool, link: Link = Link.ON) -> bool | None:
        """What it says with filament in or out, all moving parts behaving; None where nothing holds the input."""
        return reads_in(self.wiring, pressed=inside and self.reached, link=link)

    @property
    def polarity(self) -> str:
        """`direct` or `inverted` as far as the readings that are held tell; empty where they tell of none."""
        with_in, with_out = self.reads(inside=True), self.reads(inside=False)
        if with_in is with_out:
            return ""
        return "direct" if with_in is True or with_out is False else "inverted"

    @property
    def harms(self) -> frozenset[Harm]:
        """Every way in which it is unsafe; empty for a sound unit."""
        unplugged = self.reads(inside=False, link=Link.OFF_AT_BOARD)
        held = self.wiring.shorted_to is None and "signal" not in self.wiring.broken
        found = {
            Harm.INVERTED: self.polarity == "inverted",
            Harm.STUCK: not self.polarity,
            Harm.FAIL_DANGER: unplugged is True,
            Harm.UNHELD: unplugged is None,
            Harm.MISREADS: self.sticks_in + self.sticks_out > 0 or not held or not self.reached,
            Harm.INTERMITTENT: self.cable.at_rest_per_s + self.cable.worked_per_s > 0,
            Harm.NOISY: self.noise > 0,
            Harm.SHORTS: self.wiring.supply_short is not None,
        }
        return frozenset(harm for harm, true in found.items() if true)
