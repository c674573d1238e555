"""What was established of the pause: the reserve and the function test; its gates stand in `gates`."""

from typing import ClassVar, TypedDict

import msgspec
from msgspec import Struct, structs

from commission.evidence.findings.base import Finding, Picture
from commission.evidence.wire import HeardSign
from commission.judge import reserve
from commission.judge.pause_length import PauseMeasured
from commission.judge.pause_verdict import PauseSide
from commission.judge.volume import Queue
from commission.vocabulary import Reading, Verdict


class FilamentPathMeasured(Struct, frozen=True, kw_only=True):
    """The lengths a reserve was worked out from, in mm.

    Attributes:
        job: whose queued moves `queue_mm` is; empty in the findings of earlier versions.
        retract_mm: the longest retraction; 0 in those findings, which did not reckon with one.
        unload_mm: None in those findings, and where it is not known.
    """

    trip_to_gear_mm: float
    gear_to_nozzle_mm: float | None
    trip_uncertainty_mm: float
    queue_mm: float
    grip_mm: float
    job: str = ""
    retract_mm: float = 0.0
    unload_mm: float | None = None

    @classmethod
    def of(cls, path: reserve.Path) -> "FilamentPathMeasured":
        """The path, for the record."""
        return cls(
            trip_to_gear_mm=path.trip_to_gear_mm,
            gear_to_nozzle_mm=path.gear_to_nozzle_mm,
            trip_uncertainty_mm=path.trip_uncertainty_mm,
            queue_mm=path.queue_mm,
            grip_mm=path.grip_mm,
            job=path.queue.job,
            retract_mm=path.retract_mm,
            unload_mm=path.unload_mm,
        )

    @property
    def path(self) -> reserve.Path:
        """It as the judge takes it; its other values are the usual ones."""
        return reserve.Path(
            trip_to_gear_mm=self.trip_to_gear_mm,
            gear_to_nozzle_mm=self.gear_to_nozzle_mm,
            trip_uncertainty_mm=self.trip_uncertainty_mm,
            queue=Queue(self.queue_mm, self.job),
            grip_mm=self.grip_mm,
            retract_mm=self.retract_mm,
            unload_mm=self.unload_mm,
        )


class Reserve(Finding, frozen=True, kw_only=True, tag="reserve"):
    """Whether the leftover distance fits; nothing but `done` where it was left out. See `judge.reserve.Reserve`.

    Attributes:
        latest_mm, assumes: None and empty in the findings of earlier versions too.
        path: None in those as well.
    """

    done: bool
    leftover_max_mm: float | None = None
    leftover_mm: float | None = None
    margin_mm: float | None = None
    pause_after_mm: float | None = None
    pause_after_s: float | None = None
    time_limit_s: float | None = None
    air_mm: float | None = None
    reach_mm: float | None = None
    refused: bool | None = None
    reasons: tuple[str, ...] = ()
    latest_mm: float | None = None
    assumes: tuple[str, ...] = ()
    path: FilamentPathMeasured | None = None
    drawn_before: Picture | None = None

    def __post_init__(self) -> None:
        needed = (self.leftover_max_mm, self.leftover_mm, self.margin_mm, self.pause_after_mm)
        if self.done and None in (*needed, self.pause_after_s, self.time_limit_s, self.air_mm):
            raise ValueError("A reserve that was worked out has its lengths and times")

    @classmethod
    def of(cls, path: reserve.Path, found: reserve.Reserve, sentences: tuple[str, ...]) -> "Reserve":
        """What follows from this path."""
        return cls(
            sentences=sentences,
            done=True,
            leftover_max_mm=found.leftover_max_mm,
            leftover_mm=found.leftover_mm,
            margin_mm=found.margin_mm,
            pause_after_mm=found.pause_after_mm,
            pause_after_s=found.pause_after_s,
            time_limit_s=found.time_limit_s,
            air_mm=found.air_mm,
            reach_mm=found.reach_mm,
            refused=found.refused,
            reasons=found.reasons,
            latest_mm=found.latest_mm,
            assumes=found.assumes,
            path=FilamentPathMeasured.of(path),
        )

    @property
    def found(self) -> reserve.Reserve | None:
        """It as the judge gave it; None where it was left out."""
        if not self.done:
            return None
        whole = structs.replace(self, latest_mm=self.latest_mm or 0.0)
        return msgspec.convert(whole, reserve.Reserve, from_attributes=True)


class ReserveRecalled(Finding, frozen=True, kw_only=True, tag="reserve_recalled"):
    """Whether a reserve of an earlier run holds for this one, so that the leftover is held against it.

    Attributes:
        used: whether it does.
        leftover_max_mm: the largest leftover that it allows; None where none is on record.
        day: when it was worked out, ISO 8601; empty where none is on record.
        why_not: why it is not used; empty where it is.
    """

    newest_stands: ClassVar[bool] = True
    used: bool
    leftover_max_mm: float | None = None
    day: str = ""
    why_not: str = ""


class PauseLengths(TypedDict):
    """What is measured of a pause, as `Pause` holds it."""

    length_mm: float | None
    queue_mm: float | None
    announced_after_s: float | None
    stopped_after_s: float | None
    gap_s: float | None


def pause_lengths(measured: PauseMeasured | None) -> PauseLengths:
    """What was measured of a pause, for its finding; None throughout where nothing was."""
    return {
        "length_mm": None if measured is None else measured.length_mm,
        "queue_mm": None if measured is None else measured.queue_mm,
        "announced_after_s": None if measured is None else measured.announced_after_s,
        "stopped_after_s": None if measured is None else measured.stopped_after_s,
        "gap_s": None if measured is None else measured.gap_s,
    }


class Pause(Finding, frozen=True, kw_only=True, tag="pause"):
    """One provoked runout.

    Attributes:
        kind: key of how it was provoked.
        end: how the moves ended, in words.
        length_mm, queue_mm, announced_after_s, stopped_after_s, gap_s: as measured; None where nothing was.
        predicted_mm, agrees: None where nothing could be predicted.
        shut: key of the gate it shows shut; empty for none.
    """

    kind: str
    end: str
    verdict: Verdict
    side: PauseSide
    predicted_mm: float | None
    agrees: bool | None
    shut: str
    silent: bool
    signs: tuple[HeardSign, ...]
    length_mm: float | None = None
    queue_mm: float | None = None
    announced_after_s: float | None = None
    stopped_after_s: float | None = None
    gap_s: float | None = None


class FilamentChanged(Finding, frozen=True, kw_only=True, tag="change"):
    """What came of a filament change; see `procedure` for what each value means. None is not tried, or not stated."""

    resumed: bool
    nested: bool
    cooled: bool
    blind: bool
    tripped: bool | None
    still_watching: bool | None


class FunctionTest(Finding, frozen=True, kw_only=True, tag="function_test"):
    """The function test as a whole; `reason` says why it was left out, and the rest is empty or None then."""

    verdict: Verdict
    mode: str = ""
    pauses: int | None = None
    pauses_planned: int | None = None
    first_shut: str = ""
    left_out: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()
    reason: str = ""


class BesideThePause(Finding, frozen=True, kw_only=True):
    """A test beside the pauses; `shut` is the key of the gate it shows shut."""

    verdict: Verdict
    reason: str
    shut: str


class RealRunout(BesideThePause, frozen=True, kw_only=True, tag="real_runout"):
    """The filament's end was drawn through the sensor."""


class RunoutInChange(BesideThePause, frozen=True, kw_only=True, tag="runout_in_change"):
    """A runout during a change."""


class StartWithoutFilament(BesideThePause, frozen=True, kw_only=True, tag="start_without_filament"):
    """A job begun without filament."""


class LongWait(BesideThePause, frozen=True, kw_only=True, tag="long_wait"):
    """A pause that waits long."""


class PowerCycle(BesideThePause, frozen=True, kw_only=True, tag="power_cycle"):
    """Runout detection after a power cycle."""


class EnabledAfterPower(Finding, frozen=True, kw_only=True, tag="enabled_after_power"):
    """Whether runout detection was on after a power cycle; None when not stated, or when no restart was seen."""

    enabled: bool | None


class WireWord(Finding, frozen=True, kw_only=True, tag="wire_word"):
    """The pause showed which word this build uses for filament in."""

    reading: Reading
    word: str


class CardJob(Finding, frozen=True, kw_only=True, tag="card_job"):
    """The small job file for the card."""

    path: str
    moves: int
