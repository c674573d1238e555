"""Phase: the switch states before anything is changed."""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.asking.message import Tell, Weight
from commission.asking.phase import Phase, steps_of
from commission.asking.steps import Steps, establish
from commission.dialect.identity import Identity
from commission.dialect.runout import RunoutControl
from commission.dialect.sources.report import SourceKind
from commission.dialect.sources.spelling import kind_and_name
from commission.dialect.switches import SwitchState
from commission.evidence.findings.reported import (
    RunoutControlAsFound,
    RunoutControlled,
    SwitchesAsFound,
    SwitchesReported,
    runout_values,
)
from commission.procedure.meeting.sensor_met import SensorMet, keep_met, meet_sensor
from commission.procedure.meeting.switch_name import name_on_record

AS_FOUND = Phase("as_found", "As found: what the printer reports before anything is changed", "the states as found")
"""Nothing but another printer makes it void: what was there before any change cannot be found again after one."""

OFF = "Runout detection is OFF: this printer does not pause when the filament runs out."


@dataclass(frozen=True)
class AsFound:
    """What was there before any change.

    Attributes:
        switch: what the source of the sensor to test is called; None where there is none to test.
        switches: of the switch report.
        runout: what is told of the printer's own detection.
        met: the sensor as it was met, with every source that was found; None where that is not at hand.
    """

    switch: str | None
    switches: tuple[SwitchState, ...]
    runout: RunoutControl
    met: SensorMet | None = None

    @property
    def sensors(self) -> tuple[str, ...]:
        """Of a run that tests several."""
        return () if self.met is None else tuple(each.source.text for each in self.met.several)

    def of(self, sensor: str) -> "AsFound":
        """It, as far as one of several sensors goes."""
        met = self.met
        source = None if met is None else next((each for each in met.several if each.source.text == sensor), None)
        if met is None or source is None:
            return self
        one = met.of(source)
        return AsFound(sensor, self.switches, one.runout, one)


def as_found(
    identity: Identity | None = None, wanted: str = "", together: Sequence[str] | None = None
) -> Steps[AsFound]:
    """Read all switches and the runout control, and find the source of the sensor to test.

    Args:
        identity: as announced; it decides which questions only read.
        wanted: the source that the operator named beforehand; empty for none.
        together: the sensors that were tested together last, and may be so now; None in a job that tests one.
    """
    return (yield from _as_found(identity, wanted, together))


@steps_of(AS_FOUND)
def _as_found(identity: Identity | None, wanted: str, together: Sequence[str] | None) -> Steps[AsFound]:
    return (yield from look(SwitchesAsFound, RunoutControlAsFound, identity, wanted, together))


def look(
    switches_found: type[SwitchesReported],
    control_found: type[RunoutControlled],
    identity: Identity | None = None,
    wanted: str = "",
    together: Sequence[str] | None = None,
) -> Steps[AsFound]:
    """Read them and record them as findings of these kinds."""
    on_record = yield from name_on_record()
    by_itself = on_record if kind_and_name(on_record)[0] is not SourceKind.SWITCH_LINE else ""
    met = yield from meet_sensor(identity, wanted, by_itself, together=together)
    states = met.reported.states
    yield from establish(switches_found.of(states, switch_sentences(states)))
    yield from establish(control_found(sentences=runout_sentences(met.runout), **runout_values(met.runout)))
    if met.runout.enabled is False:
        yield Tell((OFF,), weight=Weight.CAUTION)
    yield from keep_met(met, on_record)
    return AsFound(met.switch, states, met.runout, met)


def switch_sentences(switches: Sequence[SwitchState]) -> tuple[str, ...]:
    """Every switch in words, with the printer's own word as data behind it."""
    if not switches:
        return ("No switch at all is reported.",)
    return tuple(f"{state.name}: {state.reading.value} (the printer's word: {state.wire_word})" for state in switches)


def runout_sentences(runout: RunoutControl) -> tuple[str, ...]:
    """The runout control in words; what was not said is said to be unknown."""
    if runout.supported is False:
        return ("The printer does not know the command that controls runout detection.",)
    if runout.supported is None:
        return ("The printer says nothing about runout detection.",)
    said = [f"Runout detection: {_on_off(runout.enabled)}."]
    if runout.distance_mm is not None:
        said.append(f"Leftover distance: {runout.distance_mm:g} mm.")
    if runout.host_handling is not None:
        said.append(f"Handled by the printer itself: {'no' if runout.host_handling else 'yes'}.")
    return tuple(said)


def _on_off(value: bool | None) -> str:  # noqa: FBT001 - three-valued
    return "not stated" if value is None else "on" if value else "off"
