"""Entries of a soak: readings that stay the same are counts with times, so that hours of them stay small."""

from msgspec import Struct

from commission.evidence.entry import Count, Entry, Seconds
from commission.judge.nuisance import Around, Exposed
from commission.vocabulary import Reading, Slowed


class Repeated(Struct, frozen=True, array_like=True):
    """Readings in a row that were all alike.

    Attributes:
        first_s, last_s: seconds since the soak began, of the first and of the last of them.
        wire_word: the printer's own word, sanitised.
        count: how many there were.
    """

    first_s: float
    last_s: float
    reading: Reading
    wire_word: str
    count: Count


class Changed(Struct, frozen=True, array_like=True):
    """An unwanted change: after the reading at `before_s` and not later than the one at `at_s`; seconds."""

    before_s: float
    at_s: float
    reading: Reading


class SoakBegan(Entry, frozen=True, kw_only=True, tag="soak_began"):
    """A soak is about to begin.

    Attributes:
        seconds: the exposure planned for it.
        beside_print: somebody said that a print from the card will run.
        follows: number of the run whose soak this one takes up; empty for none.
    """

    switch: str
    seconds: Seconds
    beside_print: bool = False
    follows: str = ""


class SoakStretch(Entry, frozen=True, kw_only=True, tag="soak_stretch"):
    """A stretch of a soak; what lies between two of them was not watched.

    Attributes:
        began_s, ended_s: seconds since the soak began.
        exposure_s: what of it counts as watched.
        shortest_glitch_s: the shortest seen with 95 %; None where nothing was watched.
        set_aside: why nothing of it counts; empty when it does.
        slowed: why it was not read as fast as the wire allows where that was wanted, as after a change.
    """

    began_s: Seconds
    ended_s: Seconds
    around: Around
    repeated: tuple[Repeated, ...]
    changes: tuple[Changed, ...] = ()
    exposure_s: Seconds = 0.0
    unread: Count = 0
    largest_gap_s: Seconds = 0.0
    shortest_glitch_s: float | None = None
    set_aside: str = ""
    slowed: Slowed | None = None

    @property
    def exposed(self) -> Exposed:
        """It as the bound counts it."""
        return Exposed(self.around, self.exposure_s, len(self.changes))

    @property
    def readings(self) -> int:
        """Known readings in it."""
        return sum(each.count for each in self.repeated if each.reading is not Reading.UNKNOWN)
