"""The build of a simulated unit: which firmware it is and how it was configured."""

from dataclasses import dataclass, field
from typing import Literal

from fake_printer.checks import require
from fake_printer.family_specs import DetectorSpec, HostSpec, MonitorSpec


@dataclass(frozen=True)
class RunoutSpec:
    """Runout support as built.

    Attributes:
        compiled: without it there is no filament line, and no runout control.
        report: the wording of the runout report; none: the command is not known.
        left_to_host: a runout is announced to the host and nothing else is done.
        motion_distance_mm: reported by builds that also watch motion; 0: not reported.
        senses: presence: the level of the input; motion: that it changes while filament is fed.
        sensors: how many filament lines the switch report has; the second reads the second sensor where one is fitted,
            every other one reads as the first does.
        stores_enabled: otherwise watching is as the build has it after every start, whatever was stored.
        switched_on: somebody switched watching on by hand since the last start, and saved nothing.
        latch_stays: a change of filament does not clear the runout it was for.
        changes_twice: a runout has the change run two times.
        second_silent: after the first one a runout is acted on without being announced.
        empty_start: a job begun without filament stops after the leftover distance, never, or at once.
    """

    compiled: bool = True
    report: Literal["none", "two-lines", "one-line", "sentence", "line-each", "mode"] = "one-line"
    senses: Literal["presence", "motion"] = "presence"
    left_to_host: bool = False
    motion_distance_mm: float = 0.0
    sensors: int = 1
    stores_enabled: bool = True
    switched_on: bool = False
    latch_stays: bool = False
    changes_twice: bool = False
    second_silent: bool = False
    empty_start: Literal["distance", "never", "at-once"] = "distance"

    def __post_init__(self) -> None:
        require(1 <= self.sensors <= 8, "sensors must be 1 to 8")
        require(self.motion_distance_mm >= 0, "motion_distance_mm must not be negative")
        judged = self.senses == "presence" or self.motion_distance_mm > 0
        require(judged, "motion_distance_mm must be above 0 where senses is motion")


@dataclass(frozen=True)
class FirmwareSpec:
    """The build that answers on the line; attributes are documented in profiles/README.md."""

    family: Literal["A", "B", "C", "D", "E"] = "A"
    generation: Literal["1.1", "2.0", "2.1"] = "2.1"
    name: str = "ExampleFW"
    version: str = "102.1.2"
    machine: str = "Bench Unit"
    kinematics: str = ""
    uuid: str = ""
    extruders: int = 1
    words: Literal["words", "letters"] = "words"
    tells_free_slots: bool = False
    busy: Literal["echo", "bare", "none"] = "echo"
    keepalive_s: float = 2.0
    idle_wait: bool = False
    urgent_words_at_once: bool = True
    early_words: bool = True
    tells_host: bool = True
    asks_host: bool = True
    display: bool = False
    pin_report: Literal["none", "number", "word"] = "none"
    reports_settings: bool = True
    has_storage: bool = True
    storage_version: str = "V87"
    tells_storage: bool = True
    starts_over: bool = False
    save_fails: bool = False
    flashing: Literal["keeps", "tips-a-bit", "erases"] = "keeps"
    mesh: bool = False
    silent_boot: bool = False
    heating_starts_timer: bool = True
    cold_change: Literal["refuse", "heat"] = "refuse"
    coldest_extrusion_c: float = 170.0
    homing_s: float = 8.0
    nozzle_rise_c_s: float = 3.0
    nozzle_timeout_s: float = 45.0
    capabilities: dict[str, bool] = field(default_factory=dict)
    runout: RunoutSpec = RunoutSpec()
    monitor: MonitorSpec = field(default_factory=MonitorSpec)
    host: HostSpec = field(default_factory=HostSpec)
    detector: DetectorSpec = field(default_factory=DetectorSpec)
    settings: dict[str, dict[str, float]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        require(1 <= self.extruders <= 8, "extruders must be 1 to 8")
        require(0 <= self.keepalive_s <= 3600, "keepalive_s must be 0 (silent) to 3600")
        require(1 <= len(self.storage_version) <= 4, "storage_version has one to four letters and digits")
        require(0 < self.homing_s <= 600, "homing_s must be above 0, at most 600")
        require(0 < self.nozzle_rise_c_s <= 1000, "nozzle_rise_c_s must be above 0, at most 1000")
        require(self.nozzle_timeout_s > 0, "nozzle_timeout_s must be above 0")
