"""The check with a meter before anything is plugged in: what it must show, and what a reading means.

It is the one check that finds a supply shorted by the switch without risking the board. The cable is on the sensor and
free at the board's end, outside the printer.
"""

import math
from dataclasses import dataclass
from enum import Enum

from commission.vocabulary import Presence, Verdict
from commission.wiring.behaviour import meter_ohm
from commission.wiring.installation import DryContact, Installation, Terminal
from commission.wiring.situation import SOUND, Fault, Situation

JOINED_BELOW_OHM = 10.0  # common practice: contact, cable and probes together stay below this
OPEN_ABOVE_OHM = 20_000.0  # common practice: fingers on the probes give more than this


class Shows(Enum):
    """What the meter is expected to show."""

    JOINED = "joined, near zero"
    OPEN = "open"
    RESISTOR = "a resistor"
    NOT_JOINED = "anything but near zero"


@dataclass(frozen=True)
class MeterStep:
    """One measurement to make.

    Attributes:
        one: where the first probe goes.
        other: where the second probe goes.
        presence: filament in or out.
        shows: what is expected.
        expected_ohm: its value, infinite for open.
    """

    one: Terminal
    other: Terminal
    presence: Presence
    shows: Shows
    expected_ohm: float

    @property
    def sentence(self) -> str:
        """What to do and what to expect."""
        value = f" of about {self.expected_ohm:.0f} ohm" if self.shows is Shows.RESISTOR else ""
        return (
            f"Filament {self.presence.value}: measure ohms from {self.one.value} to {self.other.value} at the free "
            f"connector; expect {self.shows.value}{value}."
        )


@dataclass(frozen=True)
class MeterFinding:
    """What a measurement says: pass, fail, or not judged."""

    verdict: Verdict
    sentence: str


def meter_steps(installation: Installation, fault: Fault = SOUND) -> tuple[MeterStep, ...]:
    """Supply to ground and signal to ground, each with filament in and out; signal to supply for a contact to supply.

    Supply to ground is measured with two wires as well: a connector put together in another order shows there.
    """
    pairs = [(Terminal.SUPPLY, Terminal.GROUND), (Terminal.SIGNAL, Terminal.GROUND)]
    if isinstance(installation.sensor, DryContact) and installation.sensor.to is Terminal.SUPPLY:
        pairs.append((Terminal.SIGNAL, Terminal.SUPPLY))
    return tuple(_step(installation, one, other, presence, fault) for one, other in pairs for presence in Presence)


def judge_ohm(step: MeterStep, measured_ohm: float | None) -> MeterFinding:
    """Hold a reading against the step; nothing, when it was skipped, is not judged.

    Args:
        step: what was measured.
        measured_ohm: the reading in ohm; infinite for over-range.
    """
    if measured_ohm is None:
        return MeterFinding(Verdict.NOT_JUDGED, f"Not measured. {step.sentence}")
    if math.isnan(measured_ohm) or measured_ohm < 0:
        return MeterFinding(Verdict.NOT_JUDGED, "A resistance is zero or more ohm; measure again.")
    shown = "open" if math.isinf(measured_ohm) else "near zero" if measured_ohm == 0 else f"{measured_ohm:.0f} ohm"
    where = f"{step.one.value.capitalize()} to {step.other.value} with filament {step.presence.value}"
    if _fits(step, measured_ohm):
        return MeterFinding(Verdict.PASS, f"{where}: {shown}, as expected.")
    if {step.one, step.other} == {Terminal.SUPPLY, Terminal.GROUND} and measured_ohm < JOINED_BELOW_OHM:
        return MeterFinding(
            Verdict.FAIL, f"{where}: {shown}. Supply and ground are joined: do not plug this in, it shorts the supply."
        )
    return MeterFinding(
        Verdict.FAIL,
        f"{where}: {shown}, expected {step.shows.value}. Check the terminals and the contact before plugging in.",
    )


def judge_header_v(installation: Installation, measured_v: float | None) -> MeterFinding:
    """Hold the voltage measured at the header's supply terminal against what was declared, in volts."""
    if measured_v is None:
        return MeterFinding(
            Verdict.NOT_JUDGED, "The header's voltage was not measured: the declared one is not proven."
        )
    declared_v = installation.supply_v
    if abs(measured_v - declared_v) <= 0.1 * declared_v:
        return MeterFinding(Verdict.PASS, f"The header gives {measured_v:.2f} V, as declared ({declared_v:g} V).")
    if measured_v > installation.bears_v:
        return MeterFinding(
            Verdict.FAIL,
            f"The header gives {measured_v:.2f} V, declared were {declared_v:g} V. That is more than the "
            f"{installation.bears_v:g} V this input bears: plug nothing in, and find the right header.",
        )
    return MeterFinding(
        Verdict.FAIL,
        f"The header gives {measured_v:.2f} V, declared were {declared_v:g} V. Measure again; if it stays so, "
        "declare the wiring anew with what was measured.",
    )


def _step(installation: Installation, one: Terminal, other: Terminal, presence: Presence, fault: Fault) -> MeterStep:
    ohm = meter_ohm(installation, Situation(presence), one, other, fault)
    if ohm < JOINED_BELOW_OHM:
        return MeterStep(one, other, presence, Shows.JOINED, ohm)
    if not installation.has_contact:
        return MeterStep(one, other, presence, Shows.NOT_JOINED, math.inf)
    return MeterStep(one, other, presence, Shows.OPEN if math.isinf(ohm) else Shows.RESISTOR, ohm)


def _fits(step: MeterStep, measured_ohm: float) -> bool:
    match step.shows:
        case Shows.JOINED:
            joined = measured_ohm < JOINED_BELOW_OHM
            return joined and {step.one, step.other} != {Terminal.SUPPLY, Terminal.GROUND}
        case Shows.OPEN:
            return measured_ohm > OPEN_ABOVE_OHM
        case Shows.NOT_JOINED:
            return measured_ohm >= JOINED_BELOW_OHM
        case Shows.RESISTOR:  # pragma: no branch - the types allow no other
            return 0.3 * step.expected_ohm <= measured_ohm <= 3 * step.expected_ohm
