"""Phase: the check with a meter before anything is plugged in: it finds a shorted supply without risking the board."""

import math
from dataclasses import dataclass, replace

from commission.asking.form import Closing, Form, FormRow
from commission.asking.message import Punch, Tell, Weight
from commission.asking.on_a_form import on_a_form
from commission.asking.phase import Phase, Voiding, steps_of
from commission.asking.power import End, around, hold_point, hold_same_printer, plug_in, put_together, unplug
from commission.asking.request import Choose, Enter, EntryKind, Hold, Option
from commission.asking.steps import Steps, choose, enter, establish
from commission.evidence.findings.wiring import MeterCheck, MeterLine
from commission.judge.diagnosis import Observation
from commission.procedure.wiring.candidates import for_record, measured
from commission.vocabulary import Presence, PunchClass, Verdict
from commission.wiring.installation import Installation, Terminal
from commission.wiring.meter import (
    JOINED_BELOW_OHM,
    OPEN_ABOVE_OHM,
    MeterFinding,
    MeterStep,
    judge_header_v,
    judge_ohm,
    meter_steps,
)
from commission.wiring.prediction import Probe

METER = Phase(
    "meter_check", "Meter check: the sensor's cable, off the board", "the meter check", frozenset({Voiding.WIRING})
)
FREE_STEPS = around(
    f"{unplug(End.BOARD, maybe=True)} Lead that end of the cable out of the printer.",
    "For the voltage of the header: clip one test lead to its ground and one to its supply terminal, so that nothing "
    "slips, and lead both out. Skip this where hands would come near mains parts.",
    mains_stays_out=True,
)
_LEADS_OFF = "Take the test leads off the header, if they are on it."
PLUG_STEPS = around(_LEADS_OFF, plug_in(End.BOARD))
LEAVE_STEPS = around(_LEADS_OFF, "Leave the sensor unplugged.")
LEFT_APART = "The meter check was broken off: the sensor may be unplugged, and the printer open, without mains or USB."
UNPLUG = "meter.unplug"
FREED = "Is the sensor's cable free at the board's end, and is USB plugged back in?"
TRIES = 3
"""So often a reading that does not fit may be taken."""
HEADER = (
    "Set the meter to volts and read it at the ends of the two test leads, outside the printer. Touch nothing inside.",
    "Near 0 V means that USB does not feed this header: it may get 12 or 24 V from mains. Enter it as it is.",
)
FIRST = "First all ohms, at the free end of the cable. Only then the header:"
HEADER_V = Enter(
    "meter.header_v",
    "Voltage from ground to supply at the board's header (empty: not measured)",
    EntryKind.NUMBER,
    "V",
    0,
    60,
    optional=True,
    lines=HEADER,
)
PROBES = {
    (Terminal.SUPPLY, Presence.IN): Probe.METER_SUPPLY_IN,
    (Terminal.SUPPLY, Presence.OUT): Probe.METER_SUPPLY_OUT,
    (Terminal.SIGNAL, Presence.IN): Probe.METER_SIGNAL_IN,
    (Terminal.SIGNAL, Presence.OUT): Probe.METER_SIGNAL_OUT,
}


@dataclass(frozen=True)
class Line:
    """One line of the sheet.

    Attributes:
        sentence: what the judge says of it.
        short: it shows supply and ground joined.
        stands: it was not measured again.
    """

    name: str
    expected: str
    measured: str
    verdict: Verdict
    sentence: str
    reason: str
    short: bool = False
    stands: bool = True

    @property
    def said(self) -> str:
        """Its sentence; of one that was measured again, that too."""
        return self.sentence if self.stands else f"First reading, measured again: {self.sentence}"

    def for_record(self) -> MeterLine:
        """It for the record; what the judge says of it stands above the sheet."""
        return MeterLine(
            name=self.name,
            expected=self.expected,
            measured=self.measured,
            reason=self.reason,
            stands=self.stands,
            verdict=self.verdict,
        )


@dataclass(frozen=True)
class Metered:
    """What the sheet came to; `short` forbids plugging the sensor in."""

    verdict: Verdict
    short: bool


@steps_of(METER)
def meter(installation: Installation) -> Steps[Metered]:
    """Measure at the free connector, then at the header, then plug in; nothing is plugged in over a failed line."""
    return (yield from put_together(_metered_and_closed(installation), LEFT_APART, LEAVE_STEPS, UNPLUG))


def _metered_and_closed(installation: Installation) -> Steps[Metered]:
    """From the printer in use, over the free cable, to the printer in use again."""
    free = hold_point(UNPLUG, "free the sensor's cable for the meter", FREE_STEPS, FREED)
    metered = yield from measured_off_board(installation, free)
    yield from _closed(metered)
    return metered


def measured_off_board(installation: Installation, free: Hold) -> Steps[Metered]:
    """Free the cable at this hold point, measure it and the voltage of the header, and put both into the record.

    Args:
        installation: as declared.
        free: the hold point at which the cable is freed and the test leads are clipped on.
    """
    yield from hold_same_printer(free)
    yield Tell(("Set the meter to ohms. Probe the free end of the cable: it is on nothing, so nothing can happen.",))
    asked = Form(
        "meter.sheet", "What the meter shows", lambda _given: _rows(installation), (FIRST, *HEADER), Closing.FILLED
    )
    return (yield from on_a_form(asked, lambda: _line_by_line(installation)))


def _rows(installation: Installation) -> tuple[FormRow, ...]:
    steps = meter_steps(installation)
    ohms = [FormRow(_asked(step), f"Filament {step.presence.value}, {_between(step)} (ohm)") for step in steps]
    return (*ohms, FormRow(HEADER_V, "Header, ground to supply", empty="not measured"))


def _between(step: MeterStep) -> str:
    return f"{step.one.value} to {step.other.value}"


def _line_by_line(installation: Installation) -> Steps[Metered]:
    lines: list[Line] = []
    seen = []
    for step in meter_steps(installation):
        ohm = yield from _judged(step, lines)
        probe = PROBES.get((step.one, step.presence)) if step.other is Terminal.GROUND else None
        if ohm is not None and probe is not None:
            seen.append(measured(probe, 0, joined=ohm < JOINED_BELOW_OHM))
    yield from _header(installation, lines)
    metered = _metered(lines)
    yield from _record(lines, seen, metered)
    return metered


def _judged(step: MeterStep, lines: list[Line]) -> Steps[float | None]:
    """Measure until it stands; each reading is a line of its own, and the last one counts."""
    for left in reversed(range(TRIES)):
        ohm, reason = yield from _measure(step)
        finding = judge_ohm(step, ohm)
        yield Tell((finding.sentence,), weight=_weight(finding))
        lines.append(_line(step, ohm, finding, reason))
        if not (yield from _again(finding, lines, left)):
            return ohm
    return ohm


def _again(finding: MeterFinding, lines: list[Line], left: int) -> Steps[bool]:
    """Whether the last reading, that does not fit, is taken again; it stays in the record, and no longer counts."""
    if finding.verdict is not Verdict.FAIL or left == 0:
        return False
    options = (
        Option("stands", "the value is right", "then nothing is plugged in"),
        Option("again", "measure again", "a slip of the probe or of the keys; the first reading stays in the record"),
    )
    if (yield from choose(Choose("meter.again", "That does not fit. Is the value right?", options))) == "stands":
        return False
    lines[-1] = replace(lines[-1], stands=False, reason="Measured again: see the line below.")
    return True


def _asked(step: MeterStep) -> Choose:
    options = (
        Option("open", "open", "the meter shows over-range"),
        Option("joined", "near zero", f"below {JOINED_BELOW_OHM:g} ohm"),
        Option("value", "a value", "you enter it"),
        Option("skip", "not measured", "you say why"),
    )
    return Choose(f"meter.{_name(step)}", step.sentence, options)


def _measure(step: MeterStep) -> Steps[tuple[float | None, str]]:
    """The reading in ohm, or nothing and why not."""
    answer = yield from choose(_asked(step))
    if answer == "skip":
        return None, (yield from enter(Enter("meter.reason", "Why was it not measured?")))
    if answer == "value":
        request = Enter("meter.ohm", "What does the meter show?", EntryKind.NUMBER, "ohm", 0, 1e9)
        return float((yield from enter(request))), ""
    return (0.0 if answer == "joined" else math.inf), ""


def _name(step: MeterStep) -> str:
    return f"{step.one.value}_{step.other.value}_{step.presence.value}"


def _weight(finding: MeterFinding) -> Weight:
    return Weight.DANGER if finding.verdict is Verdict.FAIL else Weight.NOTE


def _line(step: MeterStep, ohm: float | None, finding: MeterFinding, reason: str) -> Line:
    shown = "" if ohm is None else "open" if math.isinf(ohm) else "near zero" if ohm == 0 else f"{ohm:g} ohm"
    return Line(
        name=f"{_between(step)}, filament {step.presence.value}",
        expected=step.shows.value,
        measured=shown,
        verdict=finding.verdict,
        sentence=finding.sentence,
        reason=reason,
        short={step.one, step.other} == {Terminal.SUPPLY, Terminal.GROUND} and ohm is not None and ohm < 10,
    )


def _header(installation: Installation, lines: list[Line]) -> Steps[None]:
    for left in reversed(range(TRIES)):
        typed = yield from enter(HEADER_V)
        reason = "" if typed else (yield from enter(Enter("meter.reason", "Why was it not measured?")))
        finding = judge_header_v(installation, float(typed) if typed else None)
        yield Tell((finding.sentence,), weight=_weight(finding))
        lines.append(_header_line(installation, typed, finding, reason))
        if not (yield from _again(finding, lines, left)):
            return


def _header_line(installation: Installation, typed: str, finding: MeterFinding, reason: str) -> Line:
    return Line(
        name="voltage of the header",
        expected=f"{installation.supply_v:g} V",
        measured=f"{float(typed):g} V" if typed else "",
        verdict=finding.verdict,
        sentence=finding.sentence,
        reason=reason,
    )


def _metered(lines: list[Line]) -> Metered:
    found = {line.verdict for line in lines if line.stands}
    weights = (Verdict.FAIL, Verdict.NOT_JUDGED)
    verdict = next((weight for weight in weights if weight in found), Verdict.PASS)
    return Metered(verdict, any(line.short for line in lines if line.stands))


def _record(lines: list[Line], seen: list[Observation], metered: Metered) -> Steps[None]:
    said = [line.said for line in lines if line.verdict is not Verdict.PASS or not line.stands]
    yield from establish(
        MeterCheck(
            sentences=(f"Meter check: {metered.verdict.value}.", *said),
            verdict=metered.verdict,
            lines=tuple(line.for_record() for line in lines),
            short=metered.short,
            observations=for_record(seen),
            open_above_ohm=OPEN_ABOVE_OHM,
        )
    )
    if metered.verdict is Verdict.FAIL:
        failed = [line.sentence for line in lines if line.verdict is Verdict.FAIL and line.stands]
        cure = "Leave the sensor unplugged. Put connector and contact right, and measure again before plugging in."
        yield Punch(PunchClass.UNSAFE, f"The meter check failed. {' '.join(failed)}", cure)


def _closed(metered: Metered) -> Steps[None]:
    """Plug the sensor in where it may be, and close the printer either way."""
    if metered.verdict is Verdict.FAIL:
        yield Tell(("Leave the sensor unplugged: a line of the sheet failed.",), weight=Weight.DANGER)
        left = "Is the sensor still unplugged, the printer closed, and on?"
        yield from hold_same_printer(hold_point("meter.leave_out", "the sensor stays unplugged", LEAVE_STEPS, left))
        return
    plugged = "Is the sensor plugged in and the printer on?"
    yield from hold_same_printer(hold_point("meter.plug_in", "plug the sensor in", PLUG_STEPS, plugged))
