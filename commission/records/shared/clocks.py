"""How far a bench's clock is from that of the shared book.

The time is asked for three times. Of the quickest answer the middle between question and answer is taken for the moment
at which the other clock was read; half of the way is how far that can be off (Cristian, "Probabilistic clock
synchronization", Distributed Computing 3, 1989).
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

from commission.clock import Clock
from commission.dialect.sanitise import clean_text
from commission.evidence.entry import moment
from commission.records.bench_clock import BenchClock, Offset

TIMES = 3
MUCH_MS = 5_000
"""What a person at two benches in turn would not bring about: below it the order of runs is not in doubt."""


@dataclass(frozen=True)
class ClockCheck:
    """What was found of a bench's clock.

    Attributes:
        origin: of the bench's own chain; empty before it has one.
        computer: its name.
        ahead_ms: milliseconds that it was ahead of the shared clock; negative where it was behind.
        within_ms: so many milliseconds that can be off.
        at: when, by the shared clock, ISO 8601.
    """

    origin: str
    computer: str
    ahead_ms: int
    within_ms: int
    at: str

    @property
    def much(self) -> bool:
        """Whether runs of different benches may stand in the wrong order by it."""
        return abs(self.ahead_ms) - self.within_ms > MUCH_MS

    @property
    def sentence(self) -> str:
        """It in words."""
        way = "ahead of" if self.ahead_ms >= 0 else "behind"
        when = clean_text(self.at[:16].replace("T", " "))
        return (
            f"The clock of {clean_text(self.computer)} was {abs(self.ahead_ms) / 1000:.0f} s {way} that of the shared "
            f"book on {when}: runs of different benches may stand in the wrong order. Set that clock."
        )


def kept_history(before: Iterable[ClockCheck], new: Iterable[ClockCheck]) -> tuple[ClockCheck, ...]:
    """What has to be kept of all that was found of the clocks: of each stretch in which one went alike, both ends.

    Args:
        before: what was kept before, of each bench in order.
        new: what was found since, in order.
    """
    of_bench: dict[str, list[ClockCheck]] = {}
    for check in (*before, *new):
        kept = of_bench.setdefault(check.origin, [])
        if len(kept) > 1 and all(abs(check.ahead_ms - each.ahead_ms) <= MUCH_MS for each in kept[-2:]):
            kept.pop()
        kept.append(check)
    return tuple(check for kept in of_bench.values() for check in kept)


def bench_clocks(history: Iterable[ClockCheck]) -> dict[str, BenchClock]:
    """The clocks of the benches by the origins of their chains; of one that had no chain yet nothing is known."""
    of_bench: dict[str, list[Offset]] = {}
    for check in history:
        at_us = round(moment(check.at).timestamp() * 1e6)
        if check.origin:
            of_bench.setdefault(check.origin, []).append(Offset(at_us, 1000 * check.ahead_ms, 1000 * check.within_ms))
    return {origin: BenchClock(offsets) for origin, offsets in of_bench.items()}


def compared(clock: Clock, origin: str, computer: str, ask: Callable[[], datetime]) -> ClockCheck:
    """Hold a bench's clock against another.

    Args:
        clock: of the bench.
        origin: of its chain.
        computer: its name.
        ask: tells the other clock's time, with its zone.
    """
    took_s, ahead_s, at = min(_asked(clock, ask) for _ in range(TIMES))
    return ClockCheck(origin, computer, round(1000 * ahead_s), round(500 * took_s), at.isoformat(timespec="seconds"))


def _asked(clock: Clock, ask: Callable[[], datetime]) -> tuple[float, float, datetime]:
    """Seconds that it took, seconds ahead, and the other clock's time."""
    began_s, began = clock.monotonic(), clock.now()
    there = ask()
    took_s = clock.monotonic() - began_s
    return took_s, (began - there).total_seconds() + took_s / 2, there


def in_doubt(checks: Iterable[ClockCheck]) -> list[str]:
    """What is to be said of clocks that are far off, in sentences."""
    return [check.sentence for check in checks if check.much]
