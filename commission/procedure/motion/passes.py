"""How a sensor of movement is counted: at rest, and while filament is pulled from mark to mark.

A line or an input flips, and its changes are counted in the readings. A counter counts by itself, and is asked before
and after.
"""

from dataclasses import dataclass
from typing import Protocol

from commission.asking.message import Tell
from commission.asking.moving import Listen
from commission.asking.request import AS_FAST_AS_IT_GOES, Confirm, Watch
from commission.asking.response import TimedReading
from commission.asking.steps import Steps, ask, confirm, listen, watch
from commission.dialect.sources.counters import PulseCount, count_in
from commission.dialect.sources.source import Source
from commission.judge.exposure import exposure_s, reached
from commission.judge.stretch import Counted, count
from commission.vocabulary import Reading

LET_GO_S, REST_S, PULL_S, SLOWEST_S = 3.0, 10.0, 20.0, 80.0
READINGS_PER_S = 5
REST_KEY, PULL_KEY = "motion.rest", "motion.pull"
HANDS_OFF = "Hands off: does the reading change by itself?"
LEAVE = ("Leave filament and cable alone.",)


def slowly(seconds: float) -> str:
    """How it is pulled, in about half of this time."""
    return f"Pull slowly and evenly, in about {seconds / 2:.0f} s, until the second mark is at the edge. Then hold."


class Counting(Protocol):
    """One way to count.

    Attributes:
        shown: what is read live while a question is open; empty where nothing can be.
        surely: whether no change at all proves that nothing is counted.
        untold: why a pass could not be counted.
    """

    shown: str
    surely: bool
    untold: str

    def at_rest(self) -> Steps[int | None]:
        """How often it changed with the hands off; None where that cannot be told."""
        ...

    def pulled(self, length_mm: float) -> Steps[Counted | None]:
        """One pass over that length; None where it could not be counted."""
        ...


class ByReadings:
    """Changes of what a line or an input reads."""

    surely = True
    untold = "the reading could not be understood for part of it"

    def __init__(self, sensor: str) -> None:
        self.shown = sensor
        self._pull_s = PULL_S

    def at_rest(self) -> Steps[int | None]:
        """Read with the hands off."""
        taken = yield from watch(
            Watch(
                key=REST_KEY,
                title=HANDS_OFF,
                lines=LEAVE,
                switch=self.shown,
                presence=None,
                seconds=REST_S,
                readings=round(READINGS_PER_S * REST_S),
                interval_s=AS_FAST_AS_IT_GOES,
                lead_s=LET_GO_S,
            )
        )
        if not reached(exposure_s(taken.readings), REST_S):
            return None
        return count(samples(taken.readings)).changes

    def pulled(self, length_mm: float) -> Steps[Counted | None]:
        """Read while it is pulled; after a pass that was too fast to be read the next one gets twice the time."""
        taken = yield from watch(
            Watch(
                key=PULL_KEY,
                title=f"Pull {length_mm:g} mm through the sensor",
                lines=(slowly(self._pull_s),),
                switch=self.shown,
                presence=None,
                seconds=self._pull_s,
                readings=round(READINGS_PER_S * self._pull_s),
                interval_s=AS_FAST_AS_IT_GOES,
                word="PULL",
            )
        )
        if not reached(exposure_s(taken.readings), self._pull_s):
            return None
        counted = count(samples(taken.readings))
        if counted.too_fast:
            self._pull_s = min(2 * self._pull_s, SLOWEST_S)
        return counted


@dataclass
class ByCounter:
    """Pulses that the printer counts by itself; it may begin anew, or not count while its detector is off."""

    source: Source
    shown: str = ""
    surely: bool = False
    untold: str = "the printer did not tell its count, or began it anew"

    def at_rest(self) -> Steps[int | None]:
        """Asked before and after a wait with the hands off; the wait is this program's, and rests on nobody's word."""
        while not (yield from confirm(Confirm(REST_KEY, "Are your hands off?", (HANDS_OFF, *LEAVE)))):
            yield Tell(("Let go of filament and cable, then say yes.",))
        before = yield from self._now()
        yield from listen(Listen(REST_S, frozenset(), "hands off: the count is asked for again"))
        return _between(before, (yield from self._now()))

    def pulled(self, length_mm: float) -> Steps[Counted | None]:
        """Asked before and after the pull."""
        before = yield from self._now()
        while not (yield from confirm(Confirm(PULL_KEY, "Pulled?", (f"Pull {length_mm:g} mm now. {slowly(PULL_S)}",)))):
            yield Tell((slowly(PULL_S), "Then say yes."))
        pulses = _between(before, (yield from self._now()))
        return None if pulses is None else Counted(pulses, None, None, None, 0.0)

    def _now(self) -> Steps[PulseCount]:
        said = count_in((yield from ask(self.source.question)).lines)
        self.surely = said.enabled is True
        return said


def _between(before: PulseCount, after: PulseCount) -> int | None:
    """Pulses in between; None where one is not told, or the printer began to count anew."""
    if before.pulses is None or after.pulses is None or after.pulses < before.pulses:
        return None
    return after.pulses - before.pulses


def samples(readings: tuple[TimedReading, ...]) -> list[tuple[float, Reading]]:
    """Readings as they are counted."""
    return [(each.at_s, each.reading) for each in readings]
