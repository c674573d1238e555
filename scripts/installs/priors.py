"""What is installed: sensors, boards and sockets drawn from stated priors, and what the person takes them for.

Every share here is an assumption of this campaign. None was measured; the answers depend on them, so they are printed
with the result.
"""

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from scripts.commissioning.circuit import Form, Rail, Wiring

_T = TypeVar("_T")
FORMS: Mapping[str, float] = {
    "switch, three terminals, two of them wired": 0.45,
    "switch with two wires": 0.20,
    "changeover contact, all three terminals wired": 0.10,
    "open collector": 0.25,
}
THREE, TWO, BOTH, COLLECTOR = FORMS
CLOSED_WITH_FILAMENT = 0.5
"""Share of contacts in use that are closed with filament in; the others are open then."""
TO_GROUND = 0.9
"""Share of contacts that join the signal to ground; the others join it to supply."""
MODULE_PULL = 0.6
"""Share of open collectors with a pull-up on their own board, gone with the plug."""
CONTACT_KNOWN = 0.8
"""Share of people who declare the contact, or when the output conducts, as it is; the others declare the opposite."""
ABSENT_HIGH = 0.5
"""Share of builds that take a high level for missing filament unless they are told otherwise."""
PULL_ON = 0.75
"""Share of builds with the input's pull-up switched on unless they are told otherwise; in the others it has none."""
PINS: Mapping[str, float] = {
    "pull as the build sets it, up or down": 0.60,
    "pull-up as the build sets it, none down": 0.22,
    "fixed pull-up on the board": 0.10,
    "fixed pull-down on the board": 0.03,
    "no pull at all": 0.05,
}
EITHER, UP_ONLY, FIXED_UP, FIXED_DOWN, BARE = PINS
FIXED_OHM = 10e3
SOCKETS: Mapping[str, float] = {"up": 0.85, "down": 0.05, "none": 0.10}
SOCKET_KNOWN = 0.9
"""Share of people who declare the direction of the socket's pull as it is; the others declare the opposite.

One without a pull is always taken for one with a pull-up."""
RESISTOR_AT_HAND = 0.7
"""Share of people who lay 1 kilohm on the empty socket."""
SLIPS = 0.01
"""Probability of a slip at each prompt of the borrowed socket."""


@dataclass(frozen=True)
class Pin:
    """The real input: which pulls a build can switch on, and which resistor the board has in any case."""

    name: str
    by_build: frozenset[Rail] = frozenset()
    fixed: Rail | None = None


_PINS = {
    EITHER: Pin(EITHER, frozenset(Rail)),
    UP_ONLY: Pin(UP_ONLY, frozenset({Rail.SUPPLY})),
    FIXED_UP: Pin(FIXED_UP, fixed=Rail.SUPPLY),
    FIXED_DOWN: Pin(FIXED_DOWN, fixed=Rail.GROUND),
    BARE: Pin(BARE),
}
RAILS: Mapping[str, Rail | None] = {"up": Rail.SUPPLY, "down": Rail.GROUND, "none": None}


@dataclass(frozen=True)
class Build:
    """What a build of the firmware says of the input.

    Attributes:
        absent_high: the level at which filament is missing.
        pull: the pull that it switches on, where the pin has one.
    """

    absent_high: bool
    pull: Rail | None


@dataclass(frozen=True)
class Installation:
    """One installation before its first build.

    Attributes:
        form: of the sensor, as `FORMS` names it.
        sensor: how its output is wired; its pull and its level belong to whatever input it hangs on.
        other_contact: the signal wire can be moved to the other contact.
        pin: the real input.
        usual: what the build is when nobody says anything.
        socket: where the borrowed socket's pull leads.
        says_closed_in, says_socket: what the person declares of contact and socket.
        has_resistor: the person lays 1 kilohm on the empty socket.
    """

    form: str
    sensor: Wiring
    other_contact: bool
    pin: Pin
    usual: Build
    socket: Rail | None
    says_closed_in: bool
    says_socket: Rail | None
    has_resistor: bool

    @property
    def pull_follows(self) -> bool:
        """Whether the real input has the pull that this sensor needs once the build asks for it, and no other."""
        needed = self.sensor.to.other
        return self.pin.fixed is needed or needed in self.pin.by_build

    def moved(self) -> "Installation":
        """The signal wire on the other contact, or another sensor that is made so; the person knows it by now."""
        sensor = replace(self.sensor, closes_when_in=not self.sensor.closes_when_in)
        return replace(self, sensor=sensor, says_closed_in=sensor.closes_when_in)

    def moved_unseen(self) -> "Installation":
        """The same on the person's own word: what it was declared to be is turned as well, right or wrong."""
        return replace(self.moved(), says_closed_in=not self.says_closed_in)


def drawn(chance: random.Random) -> Installation:
    """One installation."""
    form = _one_of(chance, FORMS)
    to_ground = form == COLLECTOR or chance.random() < TO_GROUND
    closes_when_in = chance.random() < CLOSED_WITH_FILAMENT
    sensor = Wiring(
        form={COLLECTOR: Form.COLLECTOR, BOTH: Form.CHANGEOVER}.get(form, Form.CONTACT),
        closes_when_in=closes_when_in,
        to=Rail.GROUND if to_ground else Rail.SUPPLY,
        pull=None,
        module_pull_ohm=10e3 if form == COLLECTOR and chance.random() < MODULE_PULL else 0.0,
    )
    socket = RAILS[_one_of(chance, SOCKETS)]
    known = chance.random() < SOCKET_KNOWN
    return Installation(
        form=form,
        sensor=sensor,
        other_contact=form not in (COLLECTOR, TWO),
        pin=_PINS[_one_of(chance, PINS)],
        usual=Build(chance.random() < ABSENT_HIGH, Rail.SUPPLY if chance.random() < PULL_ON else None),
        socket=socket,
        says_closed_in=closes_when_in is (chance.random() < CONTACT_KNOWN),
        says_socket=Rail.SUPPLY if socket is None else socket if known else socket.other,
        has_resistor=chance.random() < RESISTOR_AT_HAND,
    )


def _one_of(chance: random.Random, shares: Mapping[str, float]) -> str:
    return chance.choices(tuple(shares), tuple(shares.values()))[0]


def stated() -> Sequence[str]:
    """The priors in words, for print."""
    kinds = (("sensor", FORMS), ("real input", PINS), ("pull of the borrowed socket", SOCKETS))
    listed = [f"{what}: " + "; ".join(f"{share:.0%} {name}" for name, share in of.items()) for what, of in kinds]
    return (
        *listed,
        f"contact in use closed with filament in: {CLOSED_WITH_FILAMENT:.0%}; to ground: {TO_GROUND:.0%}",
        f"open collector with a pull-up of its own: {MODULE_PULL:.0%}",
        f"build as it comes: missing filament is high: {ABSENT_HIGH:.0%}; pull-up on: {PULL_ON:.0%}",
        f"contact declared as it is: {CONTACT_KNOWN:.0%}; socket's pull: {SOCKET_KNOWN:.0%}, and up where it has none",
        f"1 kilohm laid: {RESISTOR_AT_HAND:.0%}; slips: {SLIPS:.0%} a prompt",
    )
