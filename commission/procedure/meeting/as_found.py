"""Phase: the switch states before anything is changed."""

from collections.abc import Sequence
from dataclasses import dataclass

from commission.asking.message import Punch, Tell, Weight
from commission.asking.phase import Phase, steps_of
from commission.asking.request import Choose, Option
from commission.asking.steps import Steps, ask, choose, establish
from commission.dialect.commands import RUNOUT_CONTROL
from commission.dialect.identity import Identity
from commission.dialect.runout import RunoutControl, runout_of
from commission.dialect.switches import SwitchState
from commission.evidence.findings.reported import (
    NotReported,
    RunoutControlAsFound,
    RunoutControlled,
    SwitchesAsFound,
    SwitchesReported,
    runout_values,
)
from commission.procedure.meeting.switch_name import ask_switches, keep_name, name_on_record
from commission.vocabulary import PunchClass, Verdict

AS_FOUND = Phase("as_found", "As found: what the printer reports before anything is changed", "the states as found")
"""Nothing but another printer makes it void: what was there before any change cannot be found again after one."""

OFF = "Runout detection is OFF: this printer does not pause when the filament runs out."


@dataclass(frozen=True)
class AsFound:
    """What was there before any change; `switch` is the filament switch to test, None when none is reported."""

    switch: str | None
    switches: tuple[SwitchState, ...]
    runout: RunoutControl


@steps_of(AS_FOUND)
def as_found() -> Steps[AsFound]:
    """Read all switches and the runout control, and find the switch to test."""
    return (yield from look(SwitchesAsFound, RunoutControlAsFound))


def look(switches_found: type[SwitchesReported], control_found: type[RunoutControlled]) -> Steps[AsFound]:
    """Read them and record them as findings of these kinds."""
    reported = yield from ask_switches()
    switches = reported.states
    runout = runout_of((yield from ask(RUNOUT_CONTROL)).lines)
    yield from establish(switches_found.of(switches, switch_sentences(switches)))
    yield from establish(control_found(sentences=runout_sentences(runout), **runout_values(runout)))
    if runout.enabled is False:
        yield Tell((OFF,), weight=Weight.CAUTION)
    switch = yield from pick_switch(switches)
    yield from keep_name(reported, switch, (yield from name_on_record()))
    return AsFound(switch, switches, runout)


def pick_switch(switches: Sequence[SwitchState]) -> Steps[str | None]:
    """The filament switch to test, asked for where there are several; None where there is none."""
    names = [state.name for state in switches if state.is_filament]
    if len(names) < 2:
        return names[0] if names else None
    options = tuple(
        Option(name, f"{name} (now reads {state.reading.value})") for name, state in _by_name(switches, names)
    )
    return (
        yield from choose(
            Choose("as_found.switch", "Several filament switches are reported. Which one is tested?", options)
        )
    )


def _by_name(switches: Sequence[SwitchState], names: Sequence[str]) -> list[tuple[str, SwitchState]]:
    return [(state.name, state) for state in switches if state.name in names]


def not_reported(identity: Identity | None, found: AsFound) -> Steps[Verdict]:
    """Say why there is no switch to test, as far as the printer tells; an unsafe open item.

    Returns:
        Fail where the printer lists its switches without the sensor, or says that it has no such support; not judged
        where it tells nothing of its switches.
    """
    runout = found.runout
    built_in = None if identity is None else identity.announces_runout
    reasons = ["The printer's list of switches has no line for a filament sensor."]
    if built_in is False or runout.supported is False:
        reasons.append("The printer says that runout support is not built into its firmware.")
        reasons.append(
            "If a sensor is plugged into the display's own connector, the display reads it: the main board cannot."
        )
    elif built_in is None:
        reasons.append("Whether runout support is built in is not announced; older firmware does not say.")
    else:
        reasons.append(
            "Runout support is announced as built in, yet no switch is reported: the input may be on another board."
        )
    yield from establish(
        NotReported(sentences=tuple(reasons), support_announced=built_in, control_supported=runout.supported)
    )
    yield Punch(
        PunchClass.UNSAFE,
        "The filament switch is not reported: nothing protects this printer from running out.",
        "Build the firmware with the runout input enabled on the sensor's pin, put it on the board, run this again.",
    )
    known = bool(found.switches) or built_in is False or runout.supported is False
    return Verdict.FAIL if known else Verdict.NOT_JUDGED


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
