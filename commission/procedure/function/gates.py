"""Reads and asks for the gates in front of a pause, and shows the row of them."""

from collections.abc import Sequence
from dataclasses import replace

from commission.asking.message import Punch, Tell, Weight
from commission.asking.request import Confirm
from commission.asking.steps import Steps, ask, confirm, establish, recall
from commission.dialect.commands import COLD_EXTRUSION, RUNOUT_CONTROL, SWITCHES, TEMPERATURES
from commission.dialect.identity import Identity
from commission.dialect.jobs import CARD, CardState, card_of
from commission.dialect.reports import TemperatureReport, cold_extrusion_of, temperatures_of
from commission.dialect.runout import runout_of
from commission.dialect.switches import switches_of
from commission.drawing.gates import TOO_LATE, GateSymbol, gates_said, gates_text
from commission.evidence.findings.function import EnabledAfterPower
from commission.evidence.findings.gates import Gates, GateShown
from commission.evidence.findings.settings import RunoutControlAsLeft
from commission.judge.gates import Gate, GateEvidence, GateState, Heat, first_shut, gates, unknown
from commission.vocabulary import PunchClass


def read_gates(identity: Identity | None, leftover_max_mm: float | None) -> Steps[GateEvidence]:
    """Everything that can be read without a release, and the two things only a person knows."""
    reported = [state for state in switches_of((yield from ask(SWITCHES)).lines) if state.is_filament]
    control = runout_of((yield from ask(RUNOUT_CONTROL)).lines)
    card = card_of((yield from ask(CARD)).lines)
    cold = cold_extrusion_of((yield from ask(COLD_EXTRUSION)).lines)
    temperatures = temperatures_of((yield from ask(TEMPERATURES)).lines)
    known = GateEvidence(
        support_announced=None if identity is None else identity.announces_runout,
        control_known=control.supported,
        switch_reported=bool(reported),
        enabled=control.enabled,
        host_handling=control.host_handling,
        job_known=True if card is not None and card.state is CardState.AT_WORK else None,
        leftover_mm=control.distance_mm,
        leftover_max_mm=leftover_max_mm,
        heat=heat_of(temperatures, None if cold is None else (cold.allowed, cold.limit_c)),
        emergency_words=None if identity is None else identity.takes_emergency_words,
    )
    known = replace(known, enabled_after_power=(yield from _seen_after_power()))
    return (yield from _ask_the_rest(known))


def _seen_after_power() -> Steps[bool | None]:
    """What a power cycle of this run already showed: here, or where watching was set and saved."""
    found = yield from recall(EnabledAfterPower)
    if found is not None:
        return found.enabled
    as_left = yield from recall(RunoutControlAsLeft)
    return None if as_left is None else as_left.lasts


def _ask_the_rest(known: GateEvidence) -> Steps[GateEvidence]:
    if not known.switch_reported:
        question = "Is the sensor plugged into the main board (not into a display)?"
        known = replace(known, on_main_board=(yield from confirm(Confirm("gates.main_board", question))))
    if known.emergency_words:
        return known  # it can be answered over the line: a display decides nothing
    question = "Has the printer a display of its own, with a knob, button or touch, on which 'continue' can be chosen?"
    return replace(known, display=(yield from confirm(Confirm("gates.display", question))))


def heat_of(reports: Sequence[TemperatureReport], cold: tuple[bool, float] | None) -> Heat | None:
    """What lets the drive turn: permission, or the first hotend's temperature against the limit."""
    if cold is None:
        return None
    allowed, limit_c = cold
    if allowed:
        return Heat.COLD_ALLOWED
    nozzles = [heater for report in reports for name, heater in report.heaters.items() if name in ("T", "T0")]
    if not nozzles:
        return None
    return Heat.HOT if nozzles[-1].actual_c >= limit_c else Heat.TOO_COLD


def symbols(row: Sequence[Gate], *, later: bool = False) -> tuple[GateSymbol, ...]:
    """The gates as they are drawn.

    Args:
        row: the gates.
        later: whether the test itself still makes known what is not known; then only a shut gate has its cure.
    """
    return tuple(
        GateSymbol(
            gate.title,
            gate.state.value,
            gate.reason,
            gate.how.short,
            "" if later and gate.state is GateState.UNKNOWN else gate.cure,
            gate.only_late,
        )
        for gate in row
    )


def show_gates(known: GateEvidence, heading: str, *, later: bool = False) -> Steps[tuple[Gate, ...]]:
    """The row of gates on the screen, each with how it was established, and the cures; `later` as in `symbols`."""
    row = gates(known)
    drawn = symbols(row, later=later)
    yield Tell(tuple(gates_text(drawn).splitlines()), heading=heading, weight=Weight.NOTE, spoken=gates_said(drawn))
    return row


def show_gates_left(known: GateEvidence, heading: str) -> Steps[None]:
    """The row of gates, where any is shut or not known; that all are open is a sentence, which the finding says."""
    row = gates(known)
    if first_shut(row) is not None or unknown(row):
        yield from show_gates(known, heading)


def establish_gates(known: GateEvidence) -> Steps[Gate | None]:
    """Put the gates into the record; the first shut one is the finding, with an open item."""
    row = gates(known)
    shut = first_shut(row)
    yield from establish(
        Gates(
            sentences=(_in_short(row, shut),),
            gates=tuple(GateShown.of(gate) for gate in row),
            first_shut="" if shut is None else shut.key,
            unknown=tuple(gate.key for gate in unknown(row)),
        )
    )
    if shut is not None:
        what = TOO_LATE if shut.only_late else "No pause can be relied on"
        yield Punch(PunchClass.UNSAFE, f"{what}: '{shut.title}' is shut. {shut.reason}", shut.cure)
    return shut


def _in_short(row: Sequence[Gate], shut: Gate | None) -> str:
    """The sentence that a summary begins with."""
    if shut is not None:
        what = f"{TOO_LATE}. Shut" if shut.only_late else "The first shut gate"
        return f"{what}: '{shut.title}'. {shut.reason}"
    left = unknown(row)
    return f"No gate is shut; {len(left)} of {len(row)} not known." if left else f"All {len(row)} gates are open."


BEFORE_MOVES = ("support", "main_board", "watching", "after_power", "not_host_alone", "not_latched", "answer")
"""The gates that a test's own moves cannot open: with one of them shut no test is worth its motion."""


def stops_the_test(row: Sequence[Gate]) -> Gate | None:
    """The first gate that is shut whatever the test does."""
    return next((gate for gate in row if gate.state is GateState.SHUT and gate.key in BEFORE_MOVES), None)
