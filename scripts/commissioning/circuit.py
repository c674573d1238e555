"""What stands at the input pin, from what is connected to it: ohms and volts, nothing else.

Every path from the pin to a rail is one resistor, so by Kirchhoff's current law the pin stands at the mean of the
rails, weighted by conductance. The figures are common practice, no source: a pull of 20 to 50 kΩ, thresholds at 30 and
70 % of the logic supply, and an input that more than 2 MΩ holds is held by nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

LOW_SHARE, HIGH_SHARE = 0.3, 0.7
HELD_BELOW_OHM = 2e6
CONTACT_OHM, TRANSISTOR_OHM, SHORT_OHM = 0.5, 50.0, 0.5


class Rail(StrEnum):
    """Where a path leads."""

    GROUND = "ground"
    SUPPLY = "supply"

    @property
    def other(self) -> "Rail":
        """The other one."""
        return Rail.SUPPLY if self is Rail.GROUND else Rail.GROUND


class Form(StrEnum):
    """What sits at the far end of the cable."""

    CONTACT = "contact"
    CHANGEOVER = "changeover contact, signal on the common"
    COLLECTOR = "open collector"


class Link(StrEnum):
    """Where the cable hangs."""

    ON = "plugged in"
    OFF_AT_BOARD = "off at the board"
    OFF_AT_SENSOR = "off at the sensor"


@dataclass(frozen=True)
class Path:
    """One resistor from the pin to a rail."""

    volts: float
    ohms: float


@dataclass(frozen=True)
class Clip:
    """A resistor held from the signal to a rail at the board's free header."""

    ohms: float
    to: Rail = Rail.GROUND


@dataclass(frozen=True)
class Wiring:
    """How the sensor is built and wired, and what the firmware takes for missing filament.

    Attributes:
        closes_when_in: the contact closes, or the transistor conducts, with filament in (normally open).
        to: the rail it closes to; a changeover rests at the other one.
        pull: where the board's own resistor leads; None for a board without one.
        module_pull_ohm: a pull-up on the sensor's own board, gone with the plug; 0 for none.
        absent_high: the level at which the firmware takes filament for missing.
        broken: conductors of the cable that are open: `signal`, or the name of a rail.
        shorted_to: the rail that the signal touches inside the cable; None for neither.
        elsewhere: the sensor is plugged into another input.
        supply_short: with the lever so (True: pressed) the switch joins supply and ground; None for never.
    """

    form: Form = Form.CONTACT
    closes_when_in: bool = True
    to: Rail = Rail.GROUND
    pull: Rail | None = Rail.SUPPLY
    pull_ohm: float = 35e3
    module_pull_ohm: float = 0.0
    absent_high: bool = True
    supply_v: float = 3.3
    broken: frozenset[str] = frozenset()
    shorted_to: Rail | None = None
    elsewhere: bool = False
    supply_short: bool | None = None

    @property
    def meant(self) -> Rail:
        """Where the board's pull is meant to lead, whether it is there or not: away from what the contact closes to."""
        return self.to.other if self.pull is None else self.pull

    def volts(self, rail: Rail) -> float:
        """The voltage of a rail."""
        return self.supply_v if rail is Rail.SUPPLY else 0.0


def paths(wiring: Wiring, *, pressed: bool, link: Link = Link.ON, clip: Clip | None = None) -> list[Path]:
    """Every path from the pin to a rail, with the lever pressed or not."""
    found = []
    if wiring.pull is not None:
        found.append(Path(wiring.volts(wiring.pull), wiring.pull_ohm))
    if clip is not None:
        found.append(Path(wiring.volts(clip.to), clip.ohms))
    if link is not Link.OFF_AT_BOARD and wiring.shorted_to is not None:
        found.append(Path(wiring.volts(wiring.shorted_to), SHORT_OHM))
    if link is Link.ON and not wiring.elsewhere and "signal" not in wiring.broken:
        found += _sensor(wiring, pressed=pressed)
    return found


def _sensor(wiring: Wiring, *, pressed: bool) -> list[Path]:
    """The paths through the sensor, as its own conductors allow."""
    closed = pressed == wiring.closes_when_in
    if wiring.form is Form.COLLECTOR:
        return _collector(wiring, conducts=closed)
    side = wiring.to if closed else wiring.to.other
    if side in wiring.broken or (wiring.form is Form.CONTACT and not closed):
        return []
    return [Path(wiring.volts(side), CONTACT_OHM)]


def _collector(wiring: Wiring, *, conducts: bool) -> list[Path]:
    """A transistor that needs its supply, and its module's pull-up."""
    if Rail.SUPPLY in wiring.broken:
        return []
    pull = [Path(wiring.supply_v, wiring.module_pull_ohm)] if wiring.module_pull_ohm else []
    return [*pull, Path(0.0, TRANSISTOR_OHM)] if conducts and Rail.GROUND not in wiring.broken else pull


def pin_volts(found: Sequence[Path]) -> float | None:
    """Σ(V/R) / Σ(1/R) in volts; None where nothing holds the pin. Source: Kirchhoff's current law."""
    siemens = sum(1 / path.ohms for path in found)
    if siemens * HELD_BELOW_OHM < 1:
        return None
    return sum(path.volts / path.ohms for path in found) / siemens


def reads_in(wiring: Wiring, *, pressed: bool, link: Link = Link.ON, clip: Clip | None = None) -> bool | None:
    """What the firmware says: True for filament in; None where the level is anybody's guess."""
    volts = pin_volts(paths(wiring, pressed=pressed, link=link, clip=clip))
    if volts is None or LOW_SHARE < volts / wiring.supply_v < HIGH_SHARE:
        return None
    return (volts >= HIGH_SHARE * wiring.supply_v) is not wiring.absent_high
