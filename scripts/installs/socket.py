"""The borrowed socket on its bench: the endstop's own switch or the sensor in it, and a firmware with its own sense.

Two plants of the other campaign stand on one clock: the endstop's, and the sensor's in its place. Which of them is read
depends on what hangs in the socket.
"""

import random
from dataclasses import replace

from scripts.commissioning.circuit import Clip, Form, Link, Rail, Wiring
from scripts.commissioning.hands import Errand, Hands, Look, Returned
from scripts.commissioning.person import Habits, Person, Prompt, Slip
from scripts.commissioning.plant import Plant
from scripts.commissioning.unit import Loose, Unit
from scripts.installs.priors import SLIPS, Installation

SMALL_OHM = 1e3
PULL_OHM = (20e3, 50e3)


class Socket:
    """One person at the socket."""

    def __init__(self, made: Installation, chance: random.Random) -> None:
        ohm, supply_v = chance.uniform(*PULL_OHM), chance.choice((3.3, 5.0))
        hit_is_high, loose = chance.random() < 0.5, Loose(chance.random())

        def there(wiring: Wiring) -> Plant:
            on = replace(wiring, pull=made.socket, pull_ohm=ohm, supply_v=supply_v, absent_high=hit_is_high)
            return Plant(Unit(on, loose=loose), chance)

        own = Wiring(
            form=Form.CHANGEOVER if made.socket is None else Form.CONTACT,
            closes_when_in=chance.random() < 0.5,
            to=Rail.GROUND if made.socket is None else made.socket.other,
        )
        self._endstop = there(own)
        self._sensor = there(made.sensor)
        self._sensor.link = Link.OFF_AT_BOARD
        self.hands = Hands(self._endstop, Person(Habits(SLIPS), chance))

    def press(self, look: Look, countdown_s: float, *, pressed: bool) -> list[bool | None]:
        """Press the endstop's own switch, or let it go, and read."""
        here = self.hands.plant
        if here is self._endstop:
            return self.hands.move(_prompt(look, countdown_s, pressed=pressed), look)
        here.pass_s(countdown_s)  # it hangs free: pressing it brings nothing to the socket
        return self.hands.watch(look)

    def empty(self, *, told: bool) -> Returned:
        """Take the endstop's plug out, with the power off."""
        return self.hands.power_off(Errand(Link.OFF_AT_BOARD, power_up=1, told=told))

    def plug_sensor(self) -> Returned:
        """Plug the sensor in where the endstop was, with the power off."""
        self._at(self._sensor)
        return self.hands.power_off(Errand(Link.ON))

    def hand_back(self) -> Returned:
        """Take the sensor out and plug the endstop in again, with the power off."""
        self._at(self._endstop)
        return self.hands.power_off(Errand(Link.ON))

    def lay(self) -> None:
        """Lay 1 kilohm from signal to ground; a slip is to leave the leads open."""
        slipped = self.hands.person.slip(Slip.NOTHING) is not None
        self.hands.plant.clip = None if slipped else Clip(SMALL_OHM, Rail.GROUND)
        self.hands.plant.pass_s(3.0)

    def _at(self, plant: Plant) -> None:
        plant.now = max(plant.now, self.hands.plant.now)
        self.hands.plant = plant


def _prompt(look: Look, countdown_s: float, *, pressed: bool) -> Prompt:
    return Prompt(
        inside=pressed,
        leave=False,
        countdown_s=countdown_s,
        readings=look.least,
        dwell_s=look.moments_s[-1],
        shown=False,
        voidable=False,
    )
