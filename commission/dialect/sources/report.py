"""What one reply says of one reading source, in the words that every family shares."""

from dataclasses import dataclass
from enum import Enum

from commission.vocabulary import Level, Presence, Reading


class SourceKind(Enum):
    """How a reading can be had. The words are ours and published with the reading of a capture."""

    SWITCH_LINE = "switch_line"
    MONITOR = "monitor"
    MONITOR_STATUS = "monitor_status"
    NAMED_SENSOR = "named_sensor"
    RUNOUT_WORD = "runout_word"
    PIN = "pin"
    PULSE_COUNTER = "pulse_counter"

    @property
    def meaning(self) -> str:
        """The kind in words."""
        return _MEANINGS[self]


_MEANINGS = {
    SourceKind.SWITCH_LINE: "one line of the switch report",
    SourceKind.MONITOR: "a monitor that watches the filament of one drive, as it describes itself",
    SourceKind.MONITOR_STATUS: "the status of a monitor, as the printer's model of itself has it",
    SourceKind.NAMED_SENSOR: "a sensor that a host computer knows by its name",
    SourceKind.RUNOUT_WORD: "a word on the filament in a reply of runout control",
    SourceKind.PIN: "one input by itself: a pin, a spare input, a button",
    SourceKind.PULSE_COUNTER: "a counter of pulses that moving filament makes",
}


@dataclass(frozen=True)
class SourceReport:
    """One source as one reply reports it. What the reply does not state is None; nothing is inferred from a switch.

    Attributes:
        kind: which kind of source.
        name: what the reply calls it; empty where it gives no name.
        reading: what the wire word means, for trials: a stated presence *in* reads active, *out* reads inactive.
        wire_word: the literal words that the reading comes from; empty where none stands there.
        presence: what the reply itself says of the filament. A switch line and a pin say nothing of it.
        enabled: whether the printer watches this source.
        absent_level: the level that the printer takes for missing filament.
        error: what the printer says is wrong with the source or with the question, in its words.
    """

    kind: SourceKind
    name: str
    reading: Reading = Reading.UNKNOWN
    wire_word: str = ""
    presence: Presence | None = None
    enabled: bool | None = None
    absent_level: Level | None = None
    error: str | None = None

    def __post_init__(self) -> None:
        if self.presence is not None and self.reading is not reading_for(self.presence):
            raise ValueError(f"filament {self.presence.value} does not read {self.reading.value}")
        if self.error is not None and not self.error:
            raise ValueError("an error is told in words")


def reading_for(presence: Presence | None) -> Reading:
    """How a stated presence reads; unknown where none is stated."""
    if presence is None:
        return Reading.UNKNOWN
    return Reading.ACTIVE if presence is Presence.IN else Reading.INACTIVE


def told(
    kind: SourceKind,
    name: str,
    presence: Presence | None,
    word: str,
    *,
    enabled: bool | None = None,
    absent_level: Level | None = None,
    error: str | None = None,
) -> SourceReport:
    """A report of a source that tells the presence itself, or fails to."""
    known = word if presence is not None else ""
    return SourceReport(kind, name, reading_for(presence), known, presence, enabled, absent_level, error)
