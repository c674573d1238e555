"""The plant in time: a lever, a cable, an input and a wire that brings one raw reading after another.

Nothing here knows what is asked or judged. Time is a number that the caller moves on; between two calls the contact may
move and bounce, the cable may open, and an input that nothing holds may flip or rest where its power-up left it.
"""

import math
import random
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from functools import lru_cache

from scripts.commissioning.circuit import Clip, Link, reads_in
from scripts.commissioning.unit import Unit

RAW_PER_S = 115_200 / 10 / 79
"""A reply of 79 bytes at 115200 baud, ten bits a byte: 145.8 readings a second at the most."""


class Restarted(Exception):
    """The board went down: its supply was shorted."""


@lru_cache(maxsize=256)
def beats(count: int, interval_s: float) -> tuple[float, ...]:
    """When the answers to so many questions are complete, in seconds from the first question.

    A question goes out on its beat or as soon as the wire is free, and is answered one raw reading later.
    """
    slots: list[int] = []
    for number in range(count):
        due = math.ceil(number * interval_s * RAW_PER_S - 1e-9)
        slots.append(max(due, slots[-1] + 1 if slots else 0))
    return tuple((slot + 1) / RAW_PER_S for slot in slots)


class Plant:
    """One unit on its bench.

    Attributes:
        inside: where the filament is.
        link: where the cable hangs; `clip` is a resistor at the header.
        worked: cable and plugs are being bent.
        power_ups: how often the board really started.
    """

    def __init__(self, unit: Unit, chance: random.Random) -> None:
        self.unit = unit
        self.now = 0.0
        self.inside = chance.random() < 0.5
        self.link = Link.ON
        self.clip: Clip | None = None
        self.worked = False
        self.power_ups = 0
        self._chance = chance
        self._pressed = self.inside and unit.reached
        self._edges: list[tuple[float, bool]] = []
        self._open_until = -math.inf
        self._drifts_in = False
        self._says: dict[tuple[bool, Link, Clip | None], bool | None] = {}
        self.power_up()

    def power_up(self) -> None:
        """The board starts: an input that nothing holds comes to rest anew."""
        self.power_ups += 1
        self._drifts_in = self._chance.random() >= self.unit.loose.rests_out

    def move(self, *, inside: bool, after_s: float = 0.0) -> None:
        """The filament passes the trip point so long from now, in or out; where it is there already nothing happens."""
        if inside is self.inside:
            return
        self.inside = inside
        sticks = self.unit.sticks_in if inside else self.unit.sticks_out
        pressed = inside and self.unit.reached
        before = self._edges[-1][1] if self._edges else self._pressed
        if pressed is before or self._chance.random() < sticks:
            return
        at_s = self.now + after_s
        bounce_s = self._chance.expovariate(1 / self.unit.bounce_s)
        back_s = at_s + bounce_s * self._chance.random()
        self._edges += [(at_s, pressed), (back_s, before), (at_s + bounce_s, pressed)]

    def pass_s(self, seconds: float) -> None:
        """Let time pass unread."""
        if seconds > 0:
            self.readings((seconds,))

    def readings(self, moments_s: Sequence[float], began_s: float | None = None) -> list[bool]:
        """What the firmware says at each of these moments, in order: True for filament in. Time passes to the last.

        Args:
            moments_s: seconds from the beginning, none of them before now.
            began_s: the beginning; None for now.

        Raises:
            Restarted: the board lost its supply meanwhile.
        """
        if not moments_s:
            return []
        began_s = self.now if began_s is None else began_s
        found: list[bool] = []
        says, end_s = self._drifts_in, began_s + moments_s[-1]
        for until_s, says in self._stretches(end_s):
            found += [says] * (bisect_left(moments_s, until_s - began_s, len(found)) - len(found))
        found += [says] * (len(moments_s) - len(found))  # where rounding put the end before the last one
        self.now = end_s
        return self._with_noise(found)

    def understood(self, found: Sequence[bool]) -> list[bool | None]:
        """The same readings as they come over the wire: None where one is damaged beyond understanding."""
        share = self.unit.unread
        return [None if share and self._chance.random() < share else says for says in found]

    def _stretches(self, end_s: float) -> Iterator[tuple[float, bool]]:
        """From now to just past that moment: until when it says what; at least one stretch."""
        at_s, opened = self.now, self._open_until > self.now
        for until_s, opens in (*self._openings(end_s), (math.nextafter(end_s, math.inf), False)):
            while self._edges and self._edges[0][0] < until_s:
                edge_s, pressed = self._edges.pop(0)
                yield from self._stretch(at_s, edge_s, opened=opened)
                at_s, self._pressed = max(at_s, edge_s), pressed
            yield from self._stretch(at_s, until_s, opened=opened)
            at_s, opened = until_s, opens

    def _openings(self, end_s: float) -> list[tuple[float, bool]]:
        """The moments at which the cable opens (True) and closes up to that one, in order."""
        rate = self.unit.cable.worked_per_s if self.worked else self.unit.cable.at_rest_per_s
        turns = [(self._open_until, False)] if self.now < self._open_until <= end_s else []
        if rate == 0 or self._open_until > end_s:
            return turns
        at_s = max(self.now, self._open_until) + self._chance.expovariate(rate)
        while at_s <= end_s:
            self._open_until = at_s + self._chance.expovariate(1 / self.unit.cable.open_s)
            turns.append((at_s, True))
            if self._open_until <= end_s:
                turns.append((self._open_until, False))
            at_s = self._open_until + self._chance.expovariate(rate)
        return turns

    def _stretch(self, from_s: float, until_s: float, *, opened: bool) -> Iterator[tuple[float, bool]]:
        if until_s <= from_s:
            return
        if self.link is Link.ON and self.unit.wiring.supply_short is self._pressed:
            raise Restarted
        link = Link.OFF_AT_SENSOR if opened and self.link is Link.ON else self.link
        says = self._reads(link)
        if says is None:
            yield from self._drift(from_s, until_s)
        else:
            yield until_s, says

    def _drift(self, from_s: float, until_s: float) -> Iterator[tuple[float, bool]]:
        """An input that nothing holds: it stays, or is a random telegraph signal."""
        rate = self.unit.loose.flips_per_s
        at_s = from_s + self._chance.expovariate(rate) if rate else math.inf
        while at_s < until_s:
            yield at_s, self._drifts_in
            self._drifts_in = not self._drifts_in
            at_s += self._chance.expovariate(rate)
        yield until_s, self._drifts_in

    def _reads(self, link: Link) -> bool | None:
        key = (self._pressed, link, self.clip)
        if key not in self._says:
            self._says[key] = reads_in(self.unit.wiring, pressed=self._pressed, link=link, clip=self.clip)
        return self._says[key]

    def _with_noise(self, found: list[bool]) -> list[bool]:
        """Each raw reading wrong with the unit's probability; the gaps between wrong ones are geometric."""
        share = self.unit.noise
        if share:
            at = -1
            while (at := at + 1 + int(math.log(1 - self._chance.random()) / math.log1p(-share))) < len(found):
                found[at] = not found[at]
        return found
