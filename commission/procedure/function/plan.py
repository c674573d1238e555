"""The plan of a function test: by which mode, with which moves, and what its release says."""

from dataclasses import dataclass, replace
from enum import Enum

from commission.asking.moving import MovePattern
from commission.asking.request import Enter, EntryKind, Release
from commission.dialect.commands import Effect
from commission.judge.reserve import TIME_LIMIT_EXTRA_S, TIME_LIMIT_FACTOR
from commission.judge.volume import cross_section_mm2

RELEASE = "function.release"
RAISE_MM = 20.0
TRAVEL_MM = 10.0
BLOCK_S = 0.5
LEAD_S = 3.0
TRIP_S = 30.0
HOTTEST_C = 300.0
MATERIAL = Enter("function.material", "Which material is loaded?")
CELSIUS = Enter("function.celsius", "Nozzle temperature", EntryKind.NUMBER, unit="°C", least=150, most=HOTTEST_C)


class Mode(Enum):
    """How the moves are made."""

    DRY = "dry"
    WARM = "warm"
    CARD = "card"
    HOST = "host"

    @property
    def meaning(self) -> str:
        """The mode in words."""
        return {
            Mode.DRY: "cold, the path empty and the drive gear free; at best a conditional pass",
            Mode.WARM: "hot, extruding in the air over a free bed, with a real runout; a pass takes this one",
            Mode.CARD: "cold, a small job that you start from the card; at best a conditional pass",
            Mode.HOST: "cold, moves streamed as from a host computer, with the board told of no job",
        }[self]


@dataclass(frozen=True)
class FunctionPlan:
    """What will be done.

    Attributes:
        flow_mm3_s: volume fed per second in the test moves.
        diameter_mm: of the filament.
        celsius: nozzle temperature of a warm test.
        material: what is extruded; printed in the release.
        pauses: how many provoked runouts a pass takes, before the real one.
        homed: the axes are homed already; else the tool homes them, under the release.
        leftover_max_mm: what the geometry allows; None when it was not measured.
        trip_to_gear_mm: from the trip point to where the drive gear grips; None when it was not measured.
        goes_on_by_reading: in a hot test filament that reads in begins the moves without a question, as in a longer
            job, where the loop check has just shown that the reading is right.
    """

    mode: Mode = Mode.DRY
    flow_mm3_s: float = 5.0
    diameter_mm: float = 1.75
    celsius: float = 200.0
    material: str = ""
    pauses: int = 3
    homed: bool = False
    leftover_max_mm: float | None = None
    trip_to_gear_mm: float | None = None
    goes_on_by_reading: bool = False

    def __post_init__(self) -> None:
        if not 0 < self.flow_mm3_s <= 50 or not 0 < self.diameter_mm <= 5:
            raise ValueError("A test flow is above 0 and at most 50 mm³/s, a filament above 0 and at most 5 mm thick")
        if not 0 < self.celsius <= HOTTEST_C or self.pauses < 1:
            raise ValueError(f"A warm test has at most {HOTTEST_C:.0f} °C, and a function test at least one pause")

    def with_room(self, leftover_max_mm: float, trip_to_gear_mm: float | None = None) -> "FunctionPlan":
        """The same plan with the largest leftover distance that the geometry allows, and the way to the gear, in mm."""
        return replace(self, leftover_max_mm=leftover_max_mm, trip_to_gear_mm=trip_to_gear_mm)

    @property
    def hot(self) -> bool:
        """Whether this mode heats."""
        return self.mode is Mode.WARM

    @property
    def starts_job(self) -> bool:
        """Whether the tool tells the board of a job."""
        return self.mode in (Mode.DRY, Mode.WARM)

    @property
    def pattern(self) -> MovePattern:
        """The moves, at the planned flow."""
        speed_mm_s = self.flow_mm3_s / cross_section_mm2(self.diameter_mm)
        return MovePattern(feed_mm=round(speed_mm_s * BLOCK_S, 4), travel_mm=TRAVEL_MM, block_s=BLOCK_S)

    def stop_s(self, leftover_mm: float | None) -> float:
        """How long a pause is waited for: 2 (D + Q) / v + 10 s."""
        length_mm = (leftover_mm or 0.0) + self.pattern.queue_mm
        return TIME_LIMIT_FACTOR * length_mm / self.pattern.feed_mm_s + TIME_LIMIT_EXTRA_S

    def release(self) -> Release:
        """What the operator is asked to release before anything moves or heats."""
        moves = (
            f"The head moves {TRAVEL_MM:.0f} mm there and back along X, {RAISE_MM:.0f} mm above where it is, and the "
            f"drive gear feeds {self.flow_mm3_s:g} mm³/s ({self.pattern.feed_mm_s:.2f} mm/s of filament)."
        )
        homing = (
            "The axes are homed already." if self.homed else "First all axes are homed: the head and bed move fully."
        )
        clear = (
            "With a yes you say: the bed is clear, there is room above and beside the head, hands are off, and the "
            "power switch is in reach."
        )
        lines = (homing, moves, clear, *self._heat_lines, *self._rest)
        return Release(RELEASE, self._title, lines, self._effects, self._question)

    @property
    def _title(self) -> str:
        return f"function test, mode {self.mode.value}" + (f", heating to {self.celsius:.0f} °C" if self.hot else "")

    @property
    def _question(self) -> str:
        hot = f", and the nozzle is heated to {self.celsius:.0f} °C" if self.hot else ""
        return f"The axes will move{hot}. Start the {self.mode.value} test?"

    @property
    def _heat_lines(self) -> tuple[str, ...]:
        if self.hot:
            return (
                f"The nozzle is heated to {self.celsius:.0f} °C and {self.material or 'the material'} is extruded.",
                "Hot plastic gives off fumes: ventilate. Stay with the printer until it is cool.",
            )
        return (
            "Cold extrusion is permitted for the test and forbidden again after it. The path below the sensor is "
            "empty, or the drive gear is released: a cold gear grinds filament.",
            "Some newer builds heat the nozzle by themselves for a change, even in a cold test: treat it as hot, and "
            "stay until it is cool.",
        )

    @property
    def _rest(self) -> tuple[str, ...]:
        job = "The board's job timer is started. " if self.starts_job else ""
        if self.mode is Mode.CARD:
            job = "The moves are those of a small job that you start from the card; the tool stops it after the test. "
        return (f"{job}When it pauses it parks and unloads; the tool then answers its questions when you say so.",)

    @property
    def _effects(self) -> frozenset[Effect]:
        effects = {Effect.MOTION, Effect.SETTING, Effect.HOST}
        return frozenset(effects | {Effect.HEAT} if self.hot else effects)
