"""What only some families of firmware can be built with: monitors, named sensors, detectors."""

from dataclasses import dataclass
from typing import Literal

from fake_printer.checks import require


@dataclass(frozen=True)
class MonitorSpec:
    """Family B: its filament monitors and what becomes of what they notice.

    Attributes:
        fitted: whether any drive has a monitor.
        wording: the age of the build: how it describes a monitor, and whether it has a model of itself.
        kind: what a monitor senses; every kind but the simple one measures movement.
        with_switch: a moving kind has a switch besides, and says what that reads.
        watches: in which jobs a monitor is heeded.
        event_file: a user's file for the event: none, one that pauses, or one that does nothing of the kind.
        acknowledges: the word, or an empty line for an empty reply and nothing behind any other.
        user_files: numbers for which the user has a file, which are run where the firmware does not know them.
    """

    fitted: bool = True
    wording: Literal["2", "3.0", "3.3", "3.5"] = "3.3"
    kind: Literal["simple", "magnet", "laser", "pulse"] = "simple"
    with_switch: bool = False
    watches: Literal["off", "card", "always"] = "card"
    event_file: Literal["none", "pauses", "silent"] = "none"
    acknowledges: Literal["word", "empty-line"] = "word"
    user_files: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        require(self.kind != "simple" or not self.with_switch, "with_switch: a simple monitor is a switch already")
        late = self.wording == "3.5" or self.watches != "always"
        require(late, "watches: only builds of the wording 3.5 can heed a monitor always")


@dataclass(frozen=True)
class HostSpec:
    """Family C: the host computer that plans for the board.

    Attributes:
        sensors: the names of the filament sensors; the second is the second sensor of the unit.
        answers: how a sensor is told of: in a sentence, with a dictionary below, or in the oldest wording.
        state: whether the host serves when the unit is first looked at.
        pauses: a sensor that loses its filament pauses the job; otherwise it only says so.
        begins_s: for so long after the unit is first looked at, and after a start, it is not ready yet.
        busy_s: for so long it runs what its user wrote, reads no line, and says nothing.
        restart_s: how long the host takes to come back after a restart.
    """

    sensors: tuple[str, ...] = ("filament_sensor",)
    answers: Literal["sentence", "dictionary", "oldest"] = "sentence"
    state: Literal["ready", "not-ready", "shutdown"] = "ready"
    pauses: bool = True
    begins_s: float = 0.0
    busy_s: float = 0.0
    restart_s: float = 3.0

    def __post_init__(self) -> None:
        require(len(self.sensors) <= 2, "sensors holds at most two names")
        require(
            all(name and not set(name) & set(" =\n") for name in self.sensors), "sensors holds names without blanks"
        )
        require(0 <= self.begins_s <= 3600, "begins_s must be 0 to 3600")
        require(0 <= self.busy_s <= 3600, "busy_s must be 0 to 3600")
        require(self.state == "ready" or not self.begins_s, "begins_s: only a host that comes to serve begins")
        require(0 < self.restart_s <= 60, "restart_s must be above 0, at most 60")


@dataclass(frozen=True)
class DetectorSpec:
    """Families D and E: a detector of jams, and a plain switch that is watched even while nothing runs.

    Attributes:
        counts: pulses of moving filament are counted and held against what was fed.
        enabled: the detector is on after a start.
        pulses_per_mm: how many the build believes a millimetre of filament to make.
    """

    counts: bool = False
    enabled: bool = True
    pulses_per_mm: float = 0.25

    def __post_init__(self) -> None:
        require(self.pulses_per_mm > 0, "pulses_per_mm must be above 0")
