"""What was established of the printer, its firmware and the run: identity, reports as found, consent, sign-off."""

from typing import ClassVar

from msgspec import Struct, field

from commission.evidence.findings.base import Finding
from commission.link.identity import PortIdentity
from commission.vocabulary import Reading


class _Announced(Finding, frozen=True, kw_only=True):
    """What a printer announces of itself; None where it does not say."""

    firmware_name: str | None = None
    firmware_version: str | None = None
    machine: str | None = None
    extruders: int | None = None
    uuid: str | None = None
    uuid_is_common_default: bool = False
    capabilities: dict[str, bool] = field(default_factory=dict)


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


class SwitchLine(Struct, frozen=True):
    """One line of the switch report."""

    name: str
    wire_word: str
    reading: Reading


class SwitchesReported(Finding, frozen=True, kw_only=True):
    """The switch report at one moment of the job."""

    switches: tuple[SwitchLine, ...]


class SwitchesAsFound(SwitchesReported, frozen=True, kw_only=True, tag="switches_as_found"):
    """Before any change."""


class SwitchesAfterReflash(SwitchesReported, frozen=True, kw_only=True, tag="switches_after_reflash"):
    """After a reflash."""


class SwitchesNow(Finding, frozen=True, kw_only=True, tag="switches_now"):
    """The names in the switch report at a periodic check."""

    newest_stands: ClassVar[bool] = True
    names: tuple[str, ...]


class RunoutControlled(Finding, frozen=True, kw_only=True):
    """What was stated of runout detection at one moment of the job; None is not stated, never no."""

    supported: bool | None
    enabled: bool | None
    distance_mm: float | None
    motion_distance_mm: float | None
    host_handling: bool | None


class RunoutControlAsFound(RunoutControlled, frozen=True, kw_only=True, tag="runout_control_as_found"):
    """Before any change."""


class RunoutControlAfterReflash(RunoutControlled, frozen=True, kw_only=True, tag="runout_control_after_reflash"):
    """After a reflash."""


class RunoutControlNow(RunoutControlled, frozen=True, kw_only=True, tag="runout_control_now"):
    """At a periodic check, before anything else."""

    newest_stands: ClassVar[bool] = True


class RunoutControlAfterRestart(RunoutControlled, frozen=True, kw_only=True, tag="runout_control_after_restart"):
    """After the power cycle of a full check."""

    newest_stands: ClassVar[bool] = True


class NotReported(Finding, frozen=True, kw_only=True, tag="not_reported"):
    """The switch report has no line for a filament sensor."""

    support_announced: bool | None
    control_supported: bool | None


class ChangesSince(Finding, frozen=True, kw_only=True, tag="changes_since"):
    """What has changed since the run was broken off."""

    newest_stands: ClassVar[bool] = True
    changes: tuple[str, ...]


class TakenOver(Finding, frozen=True, kw_only=True, tag="taken_over"):
    """A phase that was done before the run was broken off: it still stands, or is void and done again."""

    phase: str
    void: bool = False


class OpenOnRecord(Finding, frozen=True, kw_only=True, tag="open_on_record"):
    """What earlier runs left open."""


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

    repair: str


class SignOff(Finding, frozen=True, kw_only=True, tag="sign_off"):
    """The operator's statement at the end."""

    operator: str
    agreed: bool
    remark: str


class NextCheck(Finding, frozen=True, kw_only=True, tag="next_check"):
    """The dates agreed for the next checks.

    Attributes:
        brief_due, full_due: ISO dates.
        basis: `usual`, or `worked out` from the values that follow.
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
