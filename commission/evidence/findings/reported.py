"""What the printer itself reported of its switches and of runout detection, at each moment of a job.

What reads the printer's words is loaded when it is asked for: lists read these types too, and shall begin soon.
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar, Self, TypedDict

from msgspec import Struct

from commission.evidence.findings.base import Finding
from commission.vocabulary import Reading

if TYPE_CHECKING:
    from commission.dialect.runout import RunoutControl
    from commission.dialect.sources.search import Found
    from commission.dialect.switches import SwitchState


class SwitchLine(Struct, frozen=True):
    """One line of the switch report."""

    name: str
    wire_word: str
    reading: Reading

    @property
    def state(self) -> "SwitchState":
        """It as the dialect reads it."""
        from commission.dialect.switches import SwitchState

        return SwitchState(self.name, self.wire_word, self.reading)


class SwitchesReported(Finding, frozen=True, kw_only=True):
    """The switch report at one moment of the job."""

    switches: tuple[SwitchLine, ...]

    @classmethod
    def of(cls, states: "Iterable[SwitchState]", sentences: tuple[str, ...]) -> Self:
        """The report with these switches."""
        lines = tuple(SwitchLine(state.name, state.wire_word, state.reading) for state in states)
        return cls(sentences=sentences, switches=lines)

    @property
    def states(self) -> "tuple[SwitchState, ...]":
        """The switches as the dialect reads them."""
        return tuple(line.state for line in self.switches)


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

    @property
    def control(self) -> "RunoutControl":
        """It as the dialect reads it."""
        from commission.dialect.runout import RunoutControl

        return RunoutControl(
            supported=self.supported,
            enabled=self.enabled,
            distance_mm=self.distance_mm,
            motion_distance_mm=self.motion_distance_mm,
            host_handling=self.host_handling,
        )


class RunoutValues(TypedDict):
    """The values of `RunoutControlled`."""

    supported: bool | None
    enabled: bool | None
    distance_mm: float | None
    motion_distance_mm: float | None
    host_handling: bool | None


def runout_values(control: "RunoutControl") -> RunoutValues:
    """What was stated of runout detection, for a finding that holds it."""
    return {
        "supported": control.supported,
        "enabled": control.enabled,
        "distance_mm": control.distance_mm,
        "motion_distance_mm": control.motion_distance_mm,
        "host_handling": control.host_handling,
    }


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


class SourceLine(Struct, frozen=True, kw_only=True):
    """One source of a reading as it was found.

    Attributes:
        name: what the source is called in the record.
        kind: how its reading is had.
        proves: what a reading is worth.
        asking: what a question for it does.
        reading: what it read then.
        wire_word: the printer's words for that.
        watched: whether the printer says that it watches it; None is not stated.
        moving: it senses movement, not presence.
        error: what was wrong with it, in the printer's words.
    """

    name: str
    kind: str
    proves: str
    asking: str
    reading: Reading
    wire_word: str
    watched: bool | None
    moving: bool
    error: str | None

    @classmethod
    def of(cls, found: "Found") -> "SourceLine":
        """The source, for the record."""
        source, report = found.source, found.report
        return cls(
            name=source.text,
            kind=source.kind.value,
            proves=source.proves.value,
            asking=source.way.purity.value,
            reading=report.reading,
            wire_word=report.wire_word,
            watched=report.enabled,
            moving=found.moving,
            error=report.error,
        )


class SourcesFound(Finding, frozen=True, kw_only=True, tag="sources_found"):
    """Where a filament sensor can be read on this printer; `tested` is None where none of it is."""

    newest_stands: ClassVar[bool] = True
    sources: tuple[SourceLine, ...]
    tested: str | None


class NotReported(Finding, frozen=True, kw_only=True, tag="not_reported"):
    """The switch report has no line for a filament sensor."""

    support_announced: bool | None
    control_supported: bool | None
