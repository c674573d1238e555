"""What was established of the pause: the gates in front of it, the reserve, and the function test."""

from msgspec import Struct

from commission.evidence.findings.base import Finding, Picture
from commission.evidence.wire import HeardSign
from commission.vocabulary import Reading, Verdict


class GateShown(Struct, frozen=True, kw_only=True):
    """One condition that must hold before the printer can pause: its state and how that is known, in words."""

    key: str
    title: str
    state: str
    how: str
    reason: str
    cure: str


class Gates(Finding, frozen=True, kw_only=True, tag="gates"):
    """All of them in their order; `first_shut` is empty where none is shut."""

    gates: tuple[GateShown, ...]
    first_shut: str
    unknown: tuple[str, ...]
    drawn_before: Picture | None = None


class FilamentPathMeasured(Struct, frozen=True, kw_only=True):
    """The lengths a reserve was worked out from, in mm."""

    trip_to_gear_mm: float
    gear_to_nozzle_mm: float | None
    trip_uncertainty_mm: float
    queue_mm: float
    grip_mm: float


class Reserve(Finding, frozen=True, kw_only=True, tag="reserve"):
    """Whether the leftover distance fits; nothing but `done` where it was left out. See `judge.reserve.Reserve`."""

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
    path: FilamentPathMeasured | None = None
    drawn_before: Picture | None = None


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
    side: str
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
    """Whether runout detection was on after a power cycle; None when not stated."""

    enabled: bool | None


class WireWord(Finding, frozen=True, kw_only=True, tag="wire_word"):
    """The pause showed which word this build uses for filament in."""

    reading: Reading
    word: str


class CardJob(Finding, frozen=True, kw_only=True, tag="card_job"):
    """The small job file for the card."""

    path: str
    moves: int
