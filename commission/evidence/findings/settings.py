"""What was established of the printer's settings, before and after a reflash."""

from typing import ClassVar, TypedDict

from msgspec import Struct

from commission.evidence.findings.base import Finding
from commission.evidence.findings.compared import Compared
from commission.evidence.findings.reported import RunoutControlled
from commission.evidence.talk import FileMark
from commission.vocabulary import Verdict


class SettingsReported(Finding, frozen=True, kw_only=True):
    """A whole settings report, verbatim; see `procedure` for how it is taken.

    Attributes:
        source: `printer`, or the name of the capture it was read from.
        day: ISO date on which it was taken or read.
        digest: of its values.
        complete: its end was seen, and it came the same twice in a row.
    """

    lines: tuple[str, ...]
    source: str
    day: str
    firmware: str
    reads: int
    complete: bool
    digest: str
    settings_lines: int
    length_unit: str
    temperature_unit: str
    unrecognised: tuple[str, ...]


class SettingsValues(TypedDict):
    """The values of `SettingsReported`."""

    lines: tuple[str, ...]
    source: str
    day: str
    firmware: str
    reads: int
    complete: bool
    digest: str
    settings_lines: int
    length_unit: str
    temperature_unit: str
    unrecognised: tuple[str, ...]


class SettingsAsFound(SettingsReported, frozen=True, kw_only=True, tag="settings_as_found"):
    """Before any change."""


class SettingsAtCheck(SettingsReported, frozen=True, kw_only=True, tag="settings_at_check"):
    """At a periodic check."""

    newest_stands: ClassVar[bool] = True


class SettingsAfterReflash(SettingsReported, frozen=True, kw_only=True, tag="settings_after_reflash"):
    """After a reflash; `fate` is what became of them, in words, and `errors` the kinds of storage errors reported."""

    fate: str
    errors: tuple[str, ...]
    comparison: Compared


class SettingsAfterRestore(SettingsReported, frozen=True, kw_only=True, tag="settings_after_restore"):
    """Read again from storage after they were put back; `lost` is what did not last."""

    comparison: Compared
    lost: tuple[str, ...]


class SettingsAsLeft(SettingsReported, frozen=True, kw_only=True, tag="settings_as_left"):
    """After the last change."""

    comparison: Compared


class SettingsAsLeftUnknown(Finding, frozen=True, kw_only=True, tag="settings_as_left_unknown"):
    """How the settings are left could not be read."""


class SettingsNotKept(Finding, frozen=True, kw_only=True, tag="settings_not_kept"):
    """No settings report could be relied on."""

    refused: bool
    reads: int
    lines: tuple[str, ...]


class SettingsAsText(Finding, frozen=True, kw_only=True, tag="settings_as_text"):
    """What a printer prints that keeps its settings in a file: text to look at, and nothing to put back.

    Attributes:
        lines: as they came; none where the console prints nothing of its settings.
        file: where they were written; empty where there are none.
    """

    lines: tuple[str, ...]
    file: str


class SettingsLostSightOf(Finding, frozen=True, kw_only=True, tag="settings_lost_sight_of"):
    """After a reflash no settings report could be read."""

    lines: tuple[str, ...]


class BackupProven(Finding, frozen=True, kw_only=True, tag="backup_proven"):
    """Whether the book holds what the printer reported."""

    proven: bool
    digest: str


class SettingsGaps(Finding, frozen=True, kw_only=True, tag="settings_gaps"):
    """The record of the settings is no whole backup: what it lacks.

    Attributes:
        not_read: lines that look like settings and are not understood, verbatim.
        partial: lines that came again cut short, and so replaced nothing, verbatim.
        absent: what every report states and this one does not, in words, with its command.
        ended: the end of the report was seen.
    """

    not_read: tuple[str, ...]
    partial: tuple[str, ...]
    absent: tuple[str, ...]
    ended: bool


class SettingsFiles(Finding, frozen=True, kw_only=True, tag="settings_files"):
    """The files that were written, and how many lines may be put back, want a look first, or are never sent."""

    readable: str
    plain: str
    restorable: int
    to_review: int
    never: int


class DoubtedLine(Struct, frozen=True, kw_only=True):
    """A settings line that looks wrong."""

    line: str
    command: str
    letter: str | None
    value: str
    kind: str
    range: str
    unit: str
    sentence: str


class SettingsPlausibility(Finding, frozen=True, kw_only=True, tag="settings_plausibility"):
    """Values that look wrong by themselves or against the record."""

    findings: tuple[DoubtedLine, ...]


class Counters(Finding, frozen=True, kw_only=True, tag="counters"):
    """Counters of hours and filament, verbatim."""

    lines: tuple[str, ...]


class SettingsDrift(Finding, frozen=True, kw_only=True, tag="settings_drift"):
    """The settings held against the record; `against` is the name of the report they were held against."""

    newest_stands: ClassVar[bool] = True
    judged: bool
    against: str = ""
    comparison: Compared | None = None


class SettingsSaved(Finding, frozen=True, kw_only=True, tag="settings_saved"):
    """What came of a save, in words, and what the printer said."""

    saved: str
    said: tuple[str, ...] = ()


class StoredValues(Finding, frozen=True, kw_only=True, tag="stored_values"):
    """Whether the stored values are known, and how they compare with the working ones."""

    known: bool
    comparison: Compared | None = None


class RestoreSource(Finding, frozen=True, kw_only=True, tag="restore_source"):
    """The record that is put back."""

    run: str
    digest: str


class RestoreSent(Finding, frozen=True, kw_only=True, tag="restore_sent"):
    """What was sent and read back, left as it is, and refused with the reason."""

    sent: tuple[str, ...]
    declined: tuple[str, ...]
    refused: tuple[tuple[str, str], ...]


class RestoreStopped(Finding, frozen=True, kw_only=True, tag="restore_stopped"):
    """Where a restore was broken off."""

    why: str
    proven: tuple[str, ...]
    doubtful: tuple[str, ...]
    not_sent: tuple[str, ...]
    lost: bool


class Restore(Finding, frozen=True, kw_only=True, tag="restore"):
    """The restore as a whole."""

    verdict: Verdict


class ReloadFailed(Finding, frozen=True, kw_only=True, tag="reload_failed"):
    """The stored settings could not be loaded; `errors` are the kinds of storage errors."""

    errors: tuple[str | None, ...]


class Afresh(Finding, frozen=True, kw_only=True, tag="afresh"):
    """Whether the new firmware was begun with its own defaults."""

    done: bool


class NoStorage(Finding, frozen=True, kw_only=True, tag="no_storage"):
    """The firmware stores no settings."""


class MemoryFails(Finding, frozen=True, kw_only=True, tag="memory_fails"):
    """The settings memory is not to be relied on."""


class Reflash(Finding, frozen=True, kw_only=True, tag="reflash"):
    """Whether the hold point of the reflash was opened."""

    opened: bool


class ReflashWorklist(Finding, frozen=True, kw_only=True, tag="reflash_worklist"):
    """What must be at hand before a reflash."""

    answer: str
    items: tuple[str, ...]
    missing: str


class ReflashWithoutBackup(Finding, frozen=True, kw_only=True, tag="reflash_without_backup"):
    """Whether the operator goes on without a settings record."""

    agreed: bool


class FirmwareFiles(Finding, frozen=True, kw_only=True, tag="way_back"):
    """The old and the new firmware's files; None where there is none at hand."""

    old: FileMark | None
    new: FileMark | None


class RunoutControlAsLeft(RunoutControlled, frozen=True, kw_only=True, tag="watching_as_left"):
    """Runout detection as left; `lasts` is None where no power-off has shown whether it lasts."""

    lasts: bool | None
