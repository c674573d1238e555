"""A stretch of a soak while it is read: alike readings become counts, changes keep the moments around them."""

from commission.asking.response import TimedReading
from commission.evidence.soaked import Changed, Repeated, SoakStretch
from commission.judge.exposure import GAP_LIMIT_S, PRINT_GAP_LIMIT_S, Exposure
from commission.judge.nuisance import Around
from commission.judge.stability import shortest_glitch_s
from commission.vocabulary import Reading, Slowed

DIGITS = 4


class Stretch:
    """What was read since the last one was written.

    Args:
        after: the last known reading before it, from which on time counts; None where nothing is joined on.

    Attributes:
        around: what the printer does meanwhile.
        began_s: seconds since the soak began.
        changes: so far.
        readings: queries so far, known or not.
        set_aside: why nothing of it counts; empty when it does.
        slowed: why it was not read as fast as the wire allows where that was wanted.
    """

    def __init__(self, around: Around, began_s: float, after: TimedReading | None = None) -> None:
        self.around = around
        self.began_s = began_s
        self.changes: list[Changed] = []
        self.readings = 0
        self.set_aside = ""
        self.slowed: Slowed | None = None
        limit_s = PRINT_GAP_LIMIT_S if around is Around.PRINTING else GAP_LIMIT_S
        self._exposure = Exposure(limit_s)
        if after is not None:
            self._exposure.add(after)
        self._repeated: list[Repeated] = []
        self._unread = 0

    @property
    def exposure_s(self) -> float:
        """Watched so far."""
        return 0.0 if self.set_aside else self._exposure.seconds

    def take(self, reading: TimedReading, before: TimedReading | None) -> bool:
        """Take the next reading; returns whether it is an unwanted change against the known one before it."""
        self.readings += 1
        self._exposure.add(reading)
        self._repeat(reading)
        if reading.reading is Reading.UNKNOWN:
            self._unread += 1
            return False
        if before is None or before.reading is reading.reading:
            return False
        self.changes.append(Changed(before.at_s, reading.at_s, reading.reading))
        return True

    def _repeat(self, now: TimedReading) -> None:
        last = self._repeated[-1] if self._repeated else None
        if last is not None and (last.reading, last.wire_word) == (now.reading, now.wire_word):
            self._repeated[-1] = Repeated(last.first_s, now.at_s, last.reading, last.wire_word, last.count + 1)
        else:
            self._repeated.append(Repeated(now.at_s, now.at_s, now.reading, now.wire_word, 1))

    def entry(self, ended_s: float) -> SoakStretch:
        """It as the book keeps it."""
        gaps_s = self._exposure.gaps_s
        watched = sum(gaps_s) > 0 and not self.set_aside
        return SoakStretch(
            began_s=round(self.began_s, DIGITS),
            ended_s=round(ended_s, DIGITS),
            around=self.around,
            repeated=tuple(self._repeated),
            changes=tuple(self.changes),
            exposure_s=round(self.exposure_s, DIGITS),
            unread=self._unread,
            largest_gap_s=round(max(gaps_s), DIGITS) if watched else 0.0,
            shortest_glitch_s=round(shortest_glitch_s(gaps_s), DIGITS) if watched else None,
            set_aside=self.set_aside,
            slowed=self.slowed,
        )


def told(before: TimedReading | None, now: TimedReading) -> str:
    """A change for a person: when, and between which two readings."""
    since = "" if before is None else f", {1000 * (now.at_s - before.at_s):.0f} ms after the reading before it"
    minutes, seconds = divmod(now.at_s, 60)
    hours, minutes = divmod(int(minutes), 60)
    at = f"{hours}:{minutes:02d}:{seconds:04.1f}"
    return f"At {at} from the beginning it read {now.reading.value}{since}. It is read as fast as it goes for a minute."
