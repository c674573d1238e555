"""The sensor on the real input with a build on it: what the printer then says, in, out and unplugged."""

from dataclasses import dataclass, replace

from scripts.commissioning.circuit import (
    HIGH_SHARE,
    LOW_SHARE,
    Link,
    Path,
    Rail,
    Wiring,
    paths,
    pin_volts,
)
from scripts.installs.priors import FIXED_OHM, Build, Pin

SOFT_OHM, AT_HEADER_OHM = 35e3, 1e3


@dataclass(frozen=True)
class Shown:
    """What is said with filament in, with it out, and unplugged: True for *in*, None where nothing decides it."""

    inside: bool | None
    outside: bool | None
    unplugged: bool | None

    @property
    def right(self) -> bool:
        """In reads in, out reads out, and a cable that is off reads out."""
        return (self.inside, self.outside, self.unplugged) == (True, False, False)

    @property
    def follows(self) -> bool:
        """In and out read as they should; nothing is asked of an unplugged cable."""
        return (self.inside, self.outside) == (True, False)


@dataclass(frozen=True)
class Bench:
    """One sensor at the real input.

    Attributes:
        at_header: the rail to which a resistor was fitted beside the header; None for none.
    """

    sensor: Wiring
    pin: Pin
    at_header: Rail | None = None

    def shows(self, build: Build) -> Shown:
        """What the printer says under this build."""
        return Shown(
            self._reads(build, inside=True, link=Link.ON),
            self._reads(build, inside=False, link=Link.ON),
            self._reads(build, inside=False, link=Link.OFF_AT_BOARD),
        )

    def fitted(self, rail: Rail) -> "Bench":
        """The same with a resistor from the header to that rail."""
        return replace(self, at_header=rail)

    def led_to(self, rail: Rail) -> "Bench":
        """The same with the contact led to that rail."""
        return replace(self, sensor=replace(self.sensor, to=rail))

    def _reads(self, build: Build, *, inside: bool, link: Link) -> bool | None:
        found = paths(replace(self.sensor, pull=None), pressed=inside, link=link)
        pulls = [(self.pin.fixed, FIXED_OHM), (self.at_header, AT_HEADER_OHM)]
        if build.pull in self.pin.by_build:
            pulls.append((build.pull, SOFT_OHM))
        found += [Path(self.sensor.volts(rail), ohms) for rail, ohms in pulls if rail is not None]
        volts = pin_volts(found)
        if volts is None or LOW_SHARE < volts / self.sensor.supply_v < HIGH_SHARE:
            return None
        return (volts >= HIGH_SHARE * self.sensor.supply_v) is not build.absent_high
