"""The plant: lever, contacts and cable, and the filament in front of them. It knows no firmware and no bytes.

Time arrives as an argument. Every part can say how long nothing will change by itself (`until_next_s`), so that the
whole may be moved on in one long step or in many short ones with the same result.
"""

import math
from random import Random

from fake_printer.circuit import Link, solve
from fake_printer.filament import Filament
from fake_printer.specs import CableSpec, ContactSpec, LeverSpec, PlantSpec
from fake_printer.wheel import Wheel

NEVER_S = math.inf
_SIGNAL_TO_GROUND = {"signal", "ground"}


class Lever:
    """Follows the filament with hysteresis, unless it is stuck or held by a finger."""

    def __init__(self, spec: LeverSpec, filament: Filament, rng: Random) -> None:
        self._spec = spec
        self._rng = rng
        self._pressed = filament.at_trip_point and self._feels(filament)
        self._hangs = False
        self.held_by_hand = False

    @property
    def edges_mm(self) -> tuple[float, float]:
        """The positions of a filament end at which the lever moves."""
        return (0.0, -self._spec.hysteresis_mm)

    @property
    def pressed(self) -> bool:
        """Where the lever is."""
        if self.held_by_hand or self._spec.stuck == "pressed":
            return True
        return (self._pressed or self._hangs) and self._spec.stuck == "no"

    def _feels(self, filament: Filament) -> bool:
        return filament.diameter_mm >= self._spec.least_diameter_mm

    def follow(self, filament: Filament) -> None:
        """Take the position that this filament gives it."""
        tolerance_mm = 1e-9
        slack_mm = self._spec.hysteresis_mm if self._pressed else 0.0
        front_reaches = filament.front_mm > -slack_mm + tolerance_mm or filament.front_mm >= 0 - tolerance_mm
        was_pressed = self._pressed
        self._pressed = front_reaches and filament.tail_mm < slack_mm and self._feels(filament)
        if was_pressed and not self._pressed:
            self._hangs = self._rng.random() < self._spec.sticks_pressed
        elif self._pressed:
            self._hangs = False


class Lapses:
    """Something that lets go now and then: Poisson arrivals, each lasting about a given time."""

    def __init__(self, per_s: float, for_s: float, rng: Random) -> None:
        self._per_s = per_s
        self._for_s = for_s
        self._rng = rng
        self.open = False
        self._left_s = self._until_lapse_s()

    def _until_lapse_s(self) -> float:
        return self._rng.expovariate(self._per_s) if self._per_s > 0 else NEVER_S

    def advance(self, elapsed_s: float) -> None:
        """Let time pass."""
        self._left_s -= elapsed_s
        while self._left_s <= 1e-9:
            self.open = not self.open
            self._left_s += self._rng.uniform(0.5, 1.5) * self._for_s if self.open else self._until_lapse_s()

    def until_next_s(self) -> float:
        """Seconds until it lets go or takes hold again."""
        return self._left_s


class Contact:
    """One contact: follows the lever after some chatter, and may be bad, welded or dead."""

    def __init__(self, spec: ContactSpec, rng: Random, *, lever_pressed: bool) -> None:
        self.spec = spec
        self.ends: Link = (f"sensor.{spec.between[0]}", f"sensor.{spec.between[1]}")
        self._rng = rng
        self._wanted = self._touching = self._closed_at(pressed=lever_pressed)
        self._chatter_s: list[float] = []
        self._lapses = Lapses(spec.opens_per_s, spec.opens_for_ms / 1000, rng)

    @property
    def closed(self) -> bool:
        """Whether it conducts now."""
        if self.spec.fault != "none":
            return self.spec.fault == "welded"
        return self._touching and not self._lapses.open

    def follow(self, lever: "Lever | Wheel") -> None:
        """Start to move when the lever has moved."""
        wanted = self._closed_at(pressed=lever.pressed)
        if wanted != self._wanted:
            self._wanted = wanted
            self._touching = wanted
            # an even number of changes, so that the chatter ends where the lever put it
            self._chatter_s = self._chatter(2 * self._rng.randint(2, 6)) if self.spec.bounce_ms > 0 else []

    def _closed_at(self, *, pressed: bool) -> bool:
        return pressed == (self.spec.closed_when == "pressed")

    def _chatter(self, changes: int) -> list[float]:
        moments = sorted(self._rng.uniform(0, self.spec.bounce_ms / 1000) for _ in range(changes))
        return [later - earlier for earlier, later in zip([0.0, *moments], moments, strict=False)]

    def advance(self, elapsed_s: float) -> None:
        """Let time pass."""
        self._lapses.advance(elapsed_s)
        left_s = elapsed_s
        while self._chatter_s and self._chatter_s[0] <= left_s + 1e-12:
            left_s -= self._chatter_s.pop(0)
            self._touching = not self._touching
        if self._chatter_s:
            self._chatter_s[0] -= left_s

    def until_next_s(self) -> float:
        """Seconds until it changes by itself."""
        return min(self._chatter_s[0] if self._chatter_s else NEVER_S, self._lapses.until_next_s())


class Cable:
    """Three conductors between the sensor's plug and the board's plug."""

    def __init__(self, spec: CableSpec, rng: Random) -> None:
        self._spec = spec
        self.conductors: dict[str, str] = {"signal": spec.signal, "ground": spec.ground, "supply": spec.supply}
        self._ends: dict[str, Link] = {name: (f"board.{name}", f"sensor.{name}") for name in self.conductors}
        self.plugged_at_board = True
        self.plugged_at_sensor = True
        self.shaken_for_s = 0.0
        self.beside_turning_motors = False
        self._loose = Lapses(spec.loose_opens_per_s, spec.loose_opens_for_ms / 1000, rng)
        self._coupled = Lapses(spec.picks_up_per_s, spec.picks_up_for_ms / 1000, rng)

    @property
    def picks_up(self) -> bool:
        """Whether the signal is overridden now by what turning motors couple into the cable."""
        return self.plugged_at_board and self.beside_turning_motors and self._coupled.open

    def links(self) -> list[Link]:
        """What it joins now."""
        chafed = [f"board.{name}" for name in self._spec.chafed] if self.plugged_at_board else []
        joined = [(chafed[0], chafed[1])] if chafed else []
        if self.plugged_at_board and self.plugged_at_sensor:
            joined += [ends for name, ends in self._ends.items() if self._conducts(name)]
        return joined

    def _conducts(self, name: str) -> bool:
        if self.conductors[name] != "sound":
            return False
        return not (name == self._spec.loose and self.shaken_for_s > 0 and self._loose.open)

    def advance(self, elapsed_s: float) -> None:
        """Let time pass; a loose conductor works only while it is shaken, and motors disturb only while they turn."""
        if self.beside_turning_motors:
            self._coupled.advance(elapsed_s)
        if self.shaken_for_s > 0:
            if self._spec.loose != "none":
                self._loose.advance(min(elapsed_s, self.shaken_for_s))
            self.shaken_for_s = max(0.0, self.shaken_for_s - elapsed_s)

    def until_next_s(self) -> float:
        """Seconds until it changes by itself; where no conductor is loose, shaking changes nothing."""
        works = self.shaken_for_s > 0 and self._spec.loose != "none"
        shaken_s = min(self.shaken_for_s, self._loose.until_next_s()) if works else NEVER_S
        return min(shaken_s, self._coupled.until_next_s() if self.beside_turning_motors else NEVER_S)


class Plant:
    """Filament, lever, contacts and cable, joined."""

    def __init__(self, spec: PlantSpec, seed: str) -> None:
        self.filament = Filament(spec.filament)
        self.lever: Lever | Wheel = (
            Wheel(
                spec.lever.pulse_mm,
                self.filament,
                catches_after=spec.lever.catches_after,
                catches_mm=spec.lever.catches_mm,
            )
            if spec.lever.pulse_mm
            else Lever(spec.lever, self.filament, Random(f"{seed}/lever"))
        )
        self.contacts = [
            Contact(contact, Random(f"{seed}/contact/{index}"), lever_pressed=self.lever.pressed)
            for index, contact in enumerate(spec.contacts)
        ]
        self.cable = Cable(spec.cable, Random(f"{seed}/cable"))
        self._needs_supply = any(contact.spec.needs_supply for contact in self.contacts)
        self._may_short = bool(spec.cable.chafed) or any(
            set(contact.spec.between) != _SIGNAL_TO_GROUND for contact in self.contacts
        )

    def links(self) -> list[Link]:
        """Every pair of terminals that touch now, as `circuit` names them."""
        links = self.cable.links()
        supplied = self._needs_supply and solve(links).sensor_supplied
        for contact in self.contacts:
            if contact.closed and (supplied or not contact.spec.needs_supply):
                links.append(contact.ends)
        return links

    def advance(self, elapsed_s: float) -> None:
        """Let time pass, at most `until_next_s` at a time."""
        self.filament.advance(elapsed_s)
        for contact in self.contacts:
            contact.advance(elapsed_s)
        self.cable.advance(elapsed_s)
        self.settle()

    def settle(self) -> None:
        """Let lever and contacts take the position the filament or a hand gives them."""
        self.lever.follow(self.filament)
        for contact in self.contacts:
            contact.follow(self.lever)

    def until_next_s(self, drawing_mm_s: float = 0.0, *, watched: bool = True) -> float:
        """Seconds for which nothing here changes by itself.

        Args:
            drawing_mm_s: how fast the drive gear turns.
            watched: contacts that chatter count while somebody watches, or where one of them could short the supply.
        """
        parts = [contact.until_next_s() for contact in self.contacts] if watched or self._may_short else ()
        return min(self.filament.until_next_s(self.lever.edges_mm, drawing_mm_s), self.cable.until_next_s(), *parts)
