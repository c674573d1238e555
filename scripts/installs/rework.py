"""From a build to a right one: a complete check says what is wrong, the person changes it, and builds anew if need be.

That favours the usual way: the person is told of an unplugged cable that reads *in*, and of an input that nothing
holds, which in and out alone never show. Nothing here knows the tool's rules.
"""

from dataclasses import dataclass, replace

from scripts.commissioning.circuit import Form, Rail
from scripts.installs.bench import Bench, Shown
from scripts.installs.priors import Build, Installation

MOST_BUILDS = 8
"""A person who is not through by then gives up; it never came to that."""


@dataclass(frozen=True)
class Reworked:
    """How it went.

    Attributes:
        builds: of the firmware, the first one among them.
        right: whether the last one was.
        hardware: changes with the iron: the signal wire moved, another sensor, a resistor at the header.
        looked_right: in and out read right under a build whose unplugged cable did not read *out*.
    """

    builds: int
    right: bool
    hardware: int
    looked_right: bool


@dataclass(frozen=True)
class _Step:
    bench: Bench
    build: Build


def reworked(made: Installation, first: Build) -> Reworked:
    """Build, check and change until it is right."""
    at, builds, hardware, looked_right = _Step(Bench(made.sensor, made.pin), first), 1, 0, False
    while True:
        shown = at.bench.shows(at.build)
        looked_right |= shown.follows and not shown.right
        after = at if shown.right or builds >= MOST_BUILDS else _changed(at, shown)
        if after == at:
            return Reworked(builds, shown.right, hardware, looked_right)
        builds, hardware = builds + (after.build != at.build), hardware + (after.bench != at.bench)
        at = after


def _changed(at: _Step, shown: Shown) -> _Step:
    """What the person does about what the check says."""
    bench, build = at.bench, at.build
    needed = bench.sensor.to.other
    if None in (shown.inside, shown.outside, shown.unplugged) or shown.inside is shown.outside:
        return _held(at, needed)
    if shown.inside is False and shown.unplugged is True:
        return replace(at, build=replace(build, absent_high=not build.absent_high))
    return _other_contact(at, inverted=shown.inside is False)


def _held(at: _Step, needed: Rail) -> _Step:
    """Nothing decides the level, or it never changes: the pull is put right, in the build first.

    Where the board's own resistor leads to the contact's rail, the contact is led to the other one; an open collector
    cannot be, and gets a stronger resistor beside the header.
    """
    if at.build.pull is not needed and at.bench.pin.fixed is None:
        return replace(at, build=replace(at.build, pull=needed))
    against = at.bench.pin.fixed is needed.other
    if against and at.bench.sensor.form is not Form.COLLECTOR:
        return replace(at, bench=at.bench.led_to(needed))
    return at if at.bench.at_header is needed else replace(at, bench=at.bench.fitted(needed))


def _other_contact(at: _Step, *, inverted: bool) -> _Step:
    """The contact is open with filament in: the wire goes to the other one, or another sensor is taken.

    Where in and out read right before, the logic is turned as well, which takes a build.
    """
    sensor = replace(at.bench.sensor, closes_when_in=not at.bench.sensor.closes_when_in)
    build = at.build if inverted else replace(at.build, absent_high=not at.build.absent_high)
    return _Step(replace(at.bench, sensor=sensor), build)
