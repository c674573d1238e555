"""What was established of the printer's identity, and of the run: taking up, consent, sign-off, the next check."""

from typing import ClassVar, TypedDict

from msgspec import field

from commission.dialect.identity import Identity
from commission.evidence.findings.base import Finding
from commission.judge.advice import Advice
from commission.judge.interval import Demand
from commission.link.identity import PortIdentity
from commission.vocabulary import Verdict

USUAL, WORKED_OUT = "usual", "worked out"
"""What a date is based on: the usual intervals, or how the printer is used."""


class _Announced(Finding, frozen=True, kw_only=True):
    """What a printer announces of itself; None where it does not say."""

    firmware_name: str | None = None
    firmware_version: str | None = None
    machine: str | None = None
    extruders: int | None = None
    uuid: str | None = None
    uuid_is_common_default: bool = False
    capabilities: dict[str, bool] = field(default_factory=dict)


class AnnouncedValues(TypedDict):
    """The values of `_Announced`."""

    firmware_name: str | None
    firmware_version: str | None
    machine: str | None
    extruders: int | None
    uuid: str | None
    uuid_is_common_default: bool
    capabilities: dict[str, bool]


def announced_values(identity: Identity) -> AnnouncedValues:
    """What was announced, for a finding that holds it."""
    return {
        "firmware_name": identity.firmware_name,
        "firmware_version": identity.firmware_version,
        "machine": identity.machine,
        "extruders": identity.extruders,
        "uuid": identity.uuid,
        "uuid_is_common_default": identity.common_uuid,
        "capabilities": dict(identity.capabilities),
    }


class PrinterIdentity(_Announced, frozen=True, kw_only=True, tag="identity"):
    """Which printer answers; `announced` says whether it told anything of itself."""

    announced: bool


class IdentityAfterReflash(_Announced, frozen=True, kw_only=True, tag="identity_after_reflash"):
    """Which printer answers after a reflash, where, and what it said by itself."""

    port: str
    heard: tuple[str, ...]


class PrinterMarks(Finding, frozen=True, kw_only=True, tag="printer_marks"):
    """By what the printer can be known again, and how that compares with the record.

    Attributes:
        uuid: the firmware's unique number; empty where there is none of its own.
        match: what the comparison came to, in words.
    """

    port: PortIdentity
    uuid: str
    firmware: str
    machine: str
    match: str
    tag: str
    firmware_changed: bool


class TagShown(Finding, frozen=True, kw_only=True, tag="proved"):
    """The tag was sent to the printer's display; `seen` is None where it was not looked for."""

    shown: bool
    seen: bool | None


class ChangesSince(Finding, frozen=True, kw_only=True, tag="changes_since"):
    """What has changed since the run was broken off."""

    newest_stands: ClassVar[bool] = True
    changes: tuple[str, ...]


class TakenOver(Finding, frozen=True, kw_only=True, tag="taken_over"):
    """A phase that was done before the run was broken off: it still stands, or is void and done again."""

    phase: str
    void: bool = False

    def of_sensor(self, sensor: str) -> "TakenOver":
        """It with the name of one of several sensors in its sentences."""
        said = tuple(f"{sensor}: {sentence}" for sentence in self.sentences)
        return TakenOver(sentences=said, phase=self.phase, void=self.void)


class OpenOnRecord(Finding, frozen=True, kw_only=True, tag="open_on_record"):
    """What earlier runs left open."""


class UnsafeOpen(Finding, frozen=True, kw_only=True, tag="unsafe_open"):
    """Open items of class A beside which a verdict does not stand.

    Attributes:
        verdict: what stands instead.
        without: the verdict without them.
        found: what this run raised, each as a sentence.
        on_record: what earlier runs found and this one does not clear.
    """

    newest_stands: ClassVar[bool] = True
    verdict: Verdict
    without: Verdict
    found: tuple[str, ...] = ()
    on_record: tuple[str, ...] = ()


class LeftOut(Finding, frozen=True, kw_only=True, tag="left_out"):
    """A phase was left out."""

    phase: str
    reason: str


class Consent(Finding, frozen=True, kw_only=True, tag="consent"):
    """Whether the owner lets the port be opened with nobody near."""

    granted: bool
    by: str


class Repair(Finding, frozen=True, kw_only=True, tag="repair"):
    """What was put right before this run."""

    repair: Advice


class SignOff(Finding, frozen=True, kw_only=True, tag="sign_off"):
    """The operator's statement at the end."""

    operator: str
    agreed: bool
    remark: str


class UseValues(TypedDict, total=False):
    """The values of `NextCheck` where its dates were worked out; none of them where they are the usual ones."""

    runouts_per_year: float
    tolerated_per_year: float
    print_hours_per_day: float
    hidden_failures: int
    history_days: float
    calculated_days: float
    full_days: float
    brief_days: float
    hidden_exposure_days: float


class NextCheck(Finding, frozen=True, kw_only=True, tag="next_check"):
    """The dates agreed for the next checks.

    Attributes:
        brief_due, full_due: ISO dates.
        basis: `USUAL`, or `WORKED_OUT` from the values that follow.
    """

    brief_due: str
    full_due: str
    agreed: bool
    owners_own: bool
    basis: str
    runouts_per_year: float | None = None
    tolerated_per_year: float | None = None
    print_hours_per_day: float | None = None
    hidden_failures: int | None = None
    history_days: float | None = None
    calculated_days: float | None = None
    full_days: float | None = None
    brief_days: float | None = None
    hidden_exposure_days: float | None = None

    @property
    def demand(self) -> Demand | None:
        """How the printer is used, where the dates were worked out from that."""
        runouts, tolerated, hours = self.runouts_per_year, self.tolerated_per_year, self.print_hours_per_day
        if self.basis != WORKED_OUT or runouts is None or tolerated is None or hours is None:
            return None
        return Demand(runouts, tolerated, hours)
