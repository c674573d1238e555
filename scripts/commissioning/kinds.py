"""What is commissioned: every kind of unit with the person who does it, and what is claimed of the pair.

A kind draws its unit anew for each commissioning. The truth about it is not written here but worked out from the unit
(`Unit.harms`); a test holds the two together.
"""

import math
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any

from scripts.commissioning.circuit import Form, Rail, Wiring
from scripts.commissioning.figures import Claim
from scripts.commissioning.person import Cheat, Habits, Plug, Power
from scripts.commissioning.unit import Cable, Loose, Unit

Draw = Callable[[Unit, random.Random], Unit]

TO_GROUND = Wiring()
TO_SUPPLY = Wiring(to=Rail.SUPPLY, pull=Rail.GROUND, absent_high=False)
CHANGEOVER = Wiring(form=Form.CHANGEOVER)
COLLECTOR = Wiring(form=Form.COLLECTOR, module_pull_ohm=10e3)
SIGNAL, GROUND, SUPPLY = frozenset({"signal"}), frozenset({"ground"}), frozenset({"supply"})
SECOND = frozenset({2})
BOOK, FEW, SOME, MANY, ALL = 0.05, 0.1, 0.2, 0.5, 1.0
"""Shares of the commissionings asked for; those that go through a record book are slow."""
STICKY = "lever sticks in 10 % of withdrawals"
FLIPS_PER_S = (0.05, 5.0)
RESTARTS_ON_OPENING, PLUG_AT_SENSOR = 0.5, 0.25
"""Shares of the boards that restart when their port is opened, and of the cables with a plug at the sensor too."""


@dataclass(frozen=True)
class Kind:
    """One kind of commissioning.

    Attributes:
        share: how many of the commissionings asked for are done of it.
        several_runs: it goes through a record book, in as many runs as the person makes of it.
        honest: name of the kind that a trick is compared with.
    """

    name: str
    claim: Claim
    wiring: Wiring
    draw: Draw = lambda unit, _chance: unit
    habits: Habits = field(default_factory=Habits)
    share: float = ALL
    several_runs: bool = False
    honest: str = ""

    def unit(self, chance: random.Random) -> Unit:
        """One unit of the kind: pull, supply, bounce and board differ from one to the next."""
        wiring = replace(self.wiring, pull_ohm=chance.uniform(20e3, 50e3), supply_v=chance.choice((3.3, 5.0)))
        unit = Unit(
            wiring,
            bounce_s=chance.uniform(0.001, 0.005),
            restarts_on_opening=chance.random() < RESTARTS_ON_OPENING,
            plug_at_sensor=chance.random() < PLUG_AT_SENSOR,
        )
        return self.draw(unit, chance)

    def runs(self, asked: int) -> int:
        """How many commissionings of it there are when so many are asked for."""
        return max(1, round(self.share * asked))


def danger(wiring: Wiring) -> Wiring:
    """The other contact and the other logic: two errors that cancel."""
    return replace(wiring, closes_when_in=not wiring.closes_when_in, absent_high=not wiring.absent_high)


def faulty(**faults: Any) -> Draw:
    """A unit with these faults."""
    return lambda unit, _chance: replace(unit, **faults)


def rests(least: float, most: float) -> Draw:
    """An input that, where nothing holds it, rests at *out* after such a share of its power-ups."""
    return lambda unit, chance: replace(unit, loose=Loose(chance.uniform(least, most)))


def flips(unit: Unit, chance: random.Random) -> Unit:
    """An input that, where nothing holds it, flips by itself so often, drawn evenly on a logarithmic scale."""
    slowest, fastest = (math.log(rate) for rate in FLIPS_PER_S)
    return replace(unit, loose=Loose(chance.random(), math.exp(chance.uniform(slowest, fastest))))


def _sound() -> Iterator[Kind]:
    for name, wiring in (
        ("contact to ground, pull up", TO_GROUND),
        ("contact to supply, pull down", TO_SUPPLY),
        ("changeover contact, pull up", CHANGEOVER),
        ("open collector, pull up", COLLECTOR),
    ):
        yield Kind(f"sound: {name}", Claim.SOUND, wiring, share=MANY)
    breaking = Habits(breaks_off=0.01)
    yield Kind("sound, broken off now and then", Claim.SOUND, TO_GROUND, habits=breaking, share=BOOK, several_runs=True)
    own_pace = Habits(keeps_up=False)
    yield Kind("sound, reaction not kept within the countdown", Claim.SHOWN, TO_GROUND, habits=own_pace, share=MANY)
    for name, habits in (
        ("another plug pulled until told", Habits(pulls=Plug.WRONG, finds_it=True)),
        ("plugged in again in power-up 2 until told", Habits(pulls=Plug.WRONG, pulls_at=SECOND, finds_it=True)),
        ("power kept on", Habits(powers=Power.KEPT)),
        ("only USB out", Habits(powers=Power.USB_ONLY)),
        ("resistor not fitted", Habits(fits=False)),
        ("leads clipped to another header", Habits(clips_right=False)),
    ):
        yield Kind(f"sound, {name}", Claim.SOUND, TO_GROUND, habits=habits, share=FEW)
    for unread in (0.02, 0.08):
        name = f"sound, {unread:.0%} of the answers unread".replace("%", " %")
        yield Kind(name, Claim.SOUND, TO_GROUND, faulty(unread=unread), share=FEW)
    for noise in (0.001, 0.005, 0.01, 0.02):
        yield Kind(f"noise of {noise:.1%} a reading", Claim.SHOWN, TO_GROUND, faulty(noise=noise), share=FEW)
    for worked_per_s in (0.05, 0.5, 2.0):
        loose = Cable(worked_per_s / 100, worked_per_s)
        name = f"cable opens {worked_per_s:g} times a second while worked"
        yield Kind(name, Claim.SHOWN, TO_GROUND, faulty(cable=loose), share=FEW)


def _inverted_or_dead() -> Iterator[Kind]:
    for name, wiring in (
        ("inverted: normally closed to ground", replace(TO_GROUND, closes_when_in=False)),
        ("inverted: logic flipped, fail-danger", replace(TO_GROUND, absent_high=False)),
        ("inverted: normally closed to supply", replace(TO_SUPPLY, closes_when_in=False)),
        ("inverted: logic flipped, pull down, fail-danger", replace(TO_SUPPLY, absent_high=True)),
        ("inverted: logic flipped, no pull", replace(TO_GROUND, absent_high=False, pull=None)),
        ("inverted: normally closed, no pull", replace(TO_GROUND, closes_when_in=False, pull=None)),
        ("signal wire broken", replace(TO_GROUND, broken=SIGNAL)),
        ("ground wire broken", replace(TO_GROUND, broken=GROUND)),
        ("ground wire of a changeover broken", replace(CHANGEOVER, broken=GROUND)),
        ("supply wire of an open collector broken", replace(COLLECTOR, broken=SUPPLY)),
        ("signal touches ground in the cable", replace(TO_GROUND, shorted_to=Rail.GROUND)),
        ("signal touches supply in the cable", replace(TO_SUPPLY, shorted_to=Rail.SUPPLY)),
        ("plugged into another input, pull up", replace(TO_GROUND, elsewhere=True)),
        ("supply shorted with filament in", replace(CHANGEOVER, supply_short=True)),
        ("supply shorted with filament out", replace(CHANGEOVER, supply_short=False)),
    ):
        yield Kind(name, Claim.WRONG, wiring, rests(0.0, 1.0), share=SOME)
    yield Kind("thin filament, lever not reached", Claim.WRONG, TO_GROUND, faulty(reached=False), share=SOME)


def _fail_danger() -> Iterator[Kind]:
    nc, wrong = danger(TO_GROUND), Habits(pulls=Plug.WRONG, takes_out=True)
    yield Kind("fail-danger: normally closed to ground", Claim.UNSAFE, nc)
    yield Kind("fail-danger: normally closed to supply", Claim.UNSAFE, danger(TO_SUPPLY))
    yield Kind("fail-danger: changeover", Claim.UNSAFE, danger(CHANGEOVER))
    for name, habits in (
        ("another plug pulled", Habits(pulls=Plug.WRONG)),
        ("another plug pulled, filament taken out", wrong),
        ("another plug until told, filament taken out", replace(wrong, finds_it=True)),
        ("plugged in again for power-up 2, filament out", replace(wrong, pulls_at=SECOND)),
        ("no plug pulled, filament taken out", Habits(pulls=Plug.NONE, takes_out=True)),
        ("nothing done but the filament taken out", Habits(pulls=Plug.NONE, powers=Power.KEPT, takes_out=True)),
        ("power kept on", Habits(powers=Power.KEPT)),
        ("only USB out, another plug, filament taken out", replace(wrong, powers=Power.USB_ONLY)),
        ("slips of 3 %", Habits(0.03)),
    ):
        yield Kind(f"fail-danger, {name}", Claim.UNSAFE, nc, habits=habits)
    for name, habits in (
        ("another plug pulled, taken out and never moved", replace(wrong, moves=False)),
        ("nothing done, taken out and never moved", replace(wrong, moves=False, powers=Power.KEPT)),
    ):
        yield Kind(f"fail-danger, {name}", Claim.SHOWN, nc, habits=habits, share=FEW)
    yield Kind("fail-danger, 8 % of the answers unread", Claim.WRONG, nc, faulty(unread=0.08), share=FEW)


def _unheld() -> Iterator[Kind]:
    bare, driven, module = (replace(wiring, pull=None) for wiring in (TO_GROUND, CHANGEOVER, COLLECTOR))
    floating = replace(TO_GROUND, pull=None, elsewhere=True)
    yield Kind("unheld: contact to ground, rests in or out", Claim.UNSAFE, bare, rests(0.3, 1.0))
    yield Kind("unheld: normally closed, logic flipped, rests in or out", Claim.UNSAFE, danger(bare), rests(0.0, 1.0))
    yield Kind("unheld: changeover, rests in or out", Claim.UNSAFE, driven, rests(0.3, 1.0))
    yield Kind("unheld: changeover, rests out", Claim.UNSAFE, driven, rests(1.0, 1.0))
    yield Kind("unheld: pull only on the sensor's board, rests in or out", Claim.UNSAFE, module, rests(0.3, 1.0))
    yield Kind("unheld: changeover, flips", Claim.UNSAFE, driven, flips)
    yield Kind("unheld: another input, flips", Claim.UNSAFE, floating, flips)
    for name, habits in (
        ("power kept on", Habits(powers=Power.KEPT)),
        ("only USB out", Habits(powers=Power.USB_ONLY)),
        ("resistor not fitted", Habits(fits=False)),
        ("leads clipped to another header", Habits(clips_right=False)),
        ("another plug pulled, filament taken out", Habits(pulls=Plug.WRONG, takes_out=True)),
        ("slips of 3 %", Habits(0.03)),
    ):
        yield Kind(f"unheld changeover, {name}", Claim.UNSAFE, driven, rests(0.3, 1.0), habits)
    no_large = Habits(leaves_out=frozenset({220e3}))
    yield Kind("unheld changeover, 220 kΩ said to be laid and not", Claim.SHOWN, driven, rests(1.0, 1.0), no_large, FEW)


def _levers() -> Iterator[Kind]:
    for share in (0.05, 0.1, 0.2, 0.3):
        for where, sticks_in, sticks_out in (("withdrawals", 0, 1), ("insertions", 1, 0), ("all movements", 1, 1)):
            faults = faulty(sticks_in=share * sticks_in, sticks_out=share * sticks_out)
            judged = share == 0.1 and where != "all movements"
            claim, runs = (Claim.STICKS, ALL) if judged else (Claim.SHOWN, FEW)
            yield Kind(
                f"lever sticks in {share:.0%} of {where}".replace("%", " %"), claim, TO_GROUND, faults, share=runs
            )


def _slips() -> Iterator[Kind]:
    every = (Claim.SLIPS_1, Claim.SLIPS_2, Claim.SLIPS_3)
    in_out = (Claim.IN_OUT_1, Claim.IN_OUT_2, Claim.IN_OUT_3)
    for where, claims, only in (("every prompt", every, False), ("in and out prompts", in_out, True)):
        for percent, claim in enumerate(claims, 1):
            habits = Habits(percent / 100, in_out_only=only)
            yield Kind(f"sound, slips of {percent} % at {where}", claim, TO_GROUND, habits=habits, share=MANY)


def _tricks() -> Iterator[Kind]:
    sticky = faulty(sticks_out=0.1)
    for cheat, claim in (
        (Cheat.VOID, Claim.TRICK),
        (Cheat.VOID_EARLY, Claim.TRICK),
        (Cheat.WAIT, Claim.TRICK),
        (Cheat.STOP, Claim.TRICK),
        (Cheat.AGAIN, Claim.TRICK),
        (Cheat.REPAIR, Claim.REPAIR),
    ):
        several = cheat in (Cheat.STOP, Cheat.AGAIN, Cheat.REPAIR)
        for lamp in (False, True) if cheat in (Cheat.VOID_EARLY, Cheat.WAIT) else (False,):
            name = f"lever sticks in 10 %; {cheat}{', by its lamp' if lamp else ''}"
            share = BOOK if several else SOME
            yield Kind(name, claim, TO_GROUND, sticky, Habits(cheat=cheat, lamp=lamp), share, several, STICKY)
    again, repair = Habits(cheat=Cheat.AGAIN), Habits(cheat=Cheat.REPAIR)
    loose = replace(CHANGEOVER, pull=None)
    yield Kind(f"unheld; {Cheat.AGAIN}", Claim.WRONG, loose, rests(0.3, 1.0), again, BOOK, several_runs=True)
    nc = danger(TO_GROUND)
    yield Kind(f"fail-danger; {Cheat.REPAIR}", Claim.WRONG, nc, habits=repair, share=BOOK, several_runs=True)


KINDS: dict[str, Kind] = {
    kind.name: kind
    for group in (_sound, _slips, _fail_danger, _unheld, _inverted_or_dead, _levers, _tricks)
    for kind in group()
}
