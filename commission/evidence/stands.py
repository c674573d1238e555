"""One thing on record with whether it counts: what `standing` hands out."""

from dataclasses import dataclass, field
from enum import Enum
from typing import Generic, TypeVar

from commission.evidence.entry import Entry, Record
from commission.evidence.measured import Watch
from commission.judge.polarity import majority
from commission.judge.power import PowerSeen
from commission.vocabulary import Reading

E_co = TypeVar("E_co", bound=Entry, covariant=True)


class Why(Enum):
    """Why something that is on record does not count."""

    VOIDED = "voided"
    UNREAD = "unread"
    LATE = "the hand came late"
    LOOK = "a look beforehand"
    FILAMENT_OUT = "the filament was out in it"
    LEFT_OUT = "left out"
    FOLLOWED = "the reading followed the filament: the sensor was not unplugged"
    NOT_CONCLUDED = "the power-up came to no end"
    DONE_AGAIN = "its phase was carried out again"
    REPLACED = "established again"


@dataclass
class Item(Generic[E_co]):
    """One thing on record.

    Attributes:
        record: what it tells, and where it stands.
        phase: in which it was carried out; empty outside any.
        sensor: which of several it belongs to; empty in a run that tests one, and for what concerns all.
        why: why it does not count; None when it does.
    """

    record: Record[E_co]
    phase: str
    why: Why | None = None
    sensor: str = ""

    @property
    def entry(self) -> E_co:
        """What it tells."""
        return self.record.entry

    @property
    def counts(self) -> bool:
        """Whether it stands."""
        return self.why is None

    def take_back(self, why: Why) -> None:
        """It does not count any more; the first reason stays."""
        self.why = self.why or why


@dataclass
class PowerUp:
    """What was read in one power-up with the sensor unplugged.

    Attributes:
        rest: the watch with hands off.
        at_board: whether it was unplugged at the board; else at the sensor.
        power: how far the power-off before it was seen.
        moves: the watches in which the filament was moved.
        reading: what was read throughout; unknown where it was unsteady or nothing could be concluded.
        watched: whether it was read for long enough.
        why: why it does not count; None when it does.
    """

    rest: Item[Watch]
    at_board: bool
    power: PowerSeen
    moves: list[Item[Watch]] = field(default_factory=list)
    reading: Reading = Reading.UNKNOWN
    watched: bool = False
    why: Why | None = Why.NOT_CONCLUDED

    @property
    def counts(self) -> bool:
        """Whether it stands."""
        return self.why is None

    def conclude(self, reading: Reading, *, watched: bool) -> None:
        """It was really unplugged, and this was read."""
        self.reading, self.watched, self.why = reading, watched, None

    def take_back(self, why: Why) -> None:
        """Nothing that was read in it counts any more."""
        if self.why in (None, Why.NOT_CONCLUDED):
            self.why = why
        for item in (self.rest, *self.moves):
            item.take_back(why)

    def conclude_as_before(self) -> None:
        """As runs concluded it in which the filament was not moved: from the watch with hands off alone."""
        self.conclude(majority([each.reading for each in self.rest.entry.readings]), watched=True)

    def reopen(self) -> None:
        """That conclusion was none."""
        if self.why is None:
            self.reading, self.watched, self.why = Reading.UNKNOWN, False, Why.NOT_CONCLUDED
