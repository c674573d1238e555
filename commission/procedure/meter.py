"""Phase: the check with a meter before anything is plugged in: it finds a shorted supply without risking the board."""

import math
from dataclasses import dataclass

from commission.judge.diagnosis import Observation
from commission.procedure.candidates import as_facts, measured
from commission.procedure.message import Punch, Tell, Weight
from commission.procedure.request import Choose, Enter, EntryKind, Hold, Option, PhaseBegins, PhaseEnds
from commission.procedure.steps import Steps, choose, enter, establish, hold
from commission.vocabulary import Presence, PunchClass, Verdict
from commission.wiring.cautions import MEASURE_THE_HEADER
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

NAME = "meter_check"
FREE_STEPS = (
    "Switch the printer off and pull its mains plug. Pull the USB cable. Let hot parts cool.",
    "Unplug the sensor at the main board. Touch the frame first.",
    "Close the cover, or leave the mains plug out; leave the sensor unplugged.",
    "Plug USB back in.",
)
PLUG_STEPS = (
    "Switch the printer off and pull its mains plug. Pull the USB cable.",
    "Plug the sensor in at the main board, each terminal by its function.",
    "Close the cover, plug mains and USB back in, switch the printer on.",
)
SHOWN = ("name", "expected", "measured", "reason", "stands", "verdict")
"""What a line of the sheet is in the record; the sentences stand above it."""
TRIES = 3
"""So often a reading that does not fit may be taken."""
HANDS = "Hands go to the connector only with mains and USB both out."
PROBES = {
    (Terminal.SUPPLY, Presence.IN): Probe.METER_SUPPLY_IN,
    (Terminal.SUPPLY, Presence.OUT): Probe.METER_SUPPLY_OUT,
    (Terminal.SIGNAL, Presence.IN): Probe.METER_SIGNAL_IN,
    (Terminal.SIGNAL, Presence.OUT): Probe.METER_SIGNAL_OUT,
}


@dataclass(frozen=True)
class Metered:
    """What the sheet came to; `short` forbids plugging the sensor in."""

    verdict: Verdict
    short: bool


def meter(installation: Installation) -> Steps[Metered]:
    """Measure at the free connector, then at the header, then plug in; nothing is plugged in over a failed line."""
    yield PhaseBegins(NAME, "Meter check: before the sensor is plugged in")
    yield from _free()
    yield Tell(("Set the meter to ohms. Probe the cable's free connector; it is on nothing, so nothing can happen.",))
    lines: list[dict[str, object]] = []
    seen = []
    for step in meter_steps(installation):
        ohm = yield from _judged(step, lines)
        probe = PROBES.get((step.one, step.presence)) if step.other is Terminal.GROUND else None
        if ohm is not None and probe is not None:
            seen.append(measured(probe, 0, joined=ohm < JOINED_BELOW_OHM))
    yield from _header(installation, lines)
    metered = _metered(lines)
    yield from _record(lines, seen, metered)
    yield from _plug_in(metered)
    yield PhaseEnds(NAME, {"verdict": metered.verdict.value, "short": metered.short})
    return metered


def _free() -> Steps[None]:
    options = (
        Option("free", "free", "it is plugged into nothing at the board's end"),
        Option("plugged", "plugged in at the board"),
    )
    if (yield from choose(Choose("meter.plug", "Where is the sensor's plug now?", options))) == "plugged":
        released = "Is the sensor unplugged at the board and USB plugged back in?"
        yield from hold(
            Hold("meter.unplug", "Power off: unplug the sensor", FREE_STEPS, released, power=True, cautions=(HANDS,))
        )


def _judged(step: MeterStep, lines: list[dict[str, object]]) -> Steps[float | None]:
    """Measure until it stands; each reading is a line of its own, and the last one counts."""
    for left in reversed(range(TRIES)):
        ohm, reason = yield from _measure(step)
        finding = judge_ohm(step, ohm)
        yield Tell((finding.sentence,), weight=_weight(finding))
        lines.append(_line(step, ohm, finding, reason))
        if not (yield from _again(finding, lines[-1], left)):
            return ohm
    return ohm


def _again(finding: MeterFinding, line: dict[str, object], left: int) -> Steps[bool]:
    """Whether a reading that does not fit is taken again; it stays in the record, and no longer counts."""
    if finding.verdict is not Verdict.FAIL or left == 0:
        return False
    options = (
        Option("stands", "it stands", "then nothing is plugged in"),
        Option("again", "measure again", "a slip of the probe or of the keys; the first reading stays in the record"),
    )
    if (yield from choose(Choose("meter.again", "That does not fit. Does it stand?", options))) == "stands":
        return False
    line["stands"], line["reason"] = False, "Measured again: see the line below."
    return True


def _measure(step: MeterStep) -> Steps[tuple[float | None, str]]:
    """The reading in ohm, or nothing and why not."""
    options = (
        Option("open", "open", "the meter shows over-range"),
        Option("joined", "near zero", f"below {JOINED_BELOW_OHM:g} ohm"),
        Option("value", "a value", "you enter it"),
        Option("skip", "not measured", "you say why"),
    )
    answer = yield from choose(Choose(f"meter.{_name(step)}", step.sentence, options))
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


def _line(step: MeterStep, ohm: float | None, finding: MeterFinding, reason: str) -> dict[str, object]:
    shown = "" if ohm is None else "open" if math.isinf(ohm) else "near zero" if ohm == 0 else f"{ohm:g} ohm"
    return {
        "name": f"{step.one.value} to {step.other.value}, filament {step.presence.value}",
        "expected": step.shows.value,
        "measured": shown,
        "verdict": finding.verdict.value,
        "sentence": finding.sentence,
        "reason": reason,
        "short": {step.one, step.other} == {Terminal.SUPPLY, Terminal.GROUND} and ohm is not None and ohm < 10,
        "stands": True,
    }


def _header(installation: Installation, lines: list[dict[str, object]]) -> Steps[None]:
    question = "Voltage from ground to supply at the board's header (empty: not measured)"
    request = Enter("meter.header_v", question, EntryKind.NUMBER, "V", 0, 60, optional=True, lines=MEASURE_THE_HEADER)
    for left in reversed(range(TRIES)):
        typed = yield from enter(request)
        reason = "" if typed else (yield from enter(Enter("meter.reason", "Why was it not measured?")))
        finding = judge_header_v(installation, float(typed) if typed else None)
        yield Tell((finding.sentence,), weight=_weight(finding))
        lines.append(_header_line(installation, typed, finding, reason))
        if not (yield from _again(finding, lines[-1], left)):
            return


def _header_line(installation: Installation, typed: str, finding: MeterFinding, reason: str) -> dict[str, object]:
    return {
        "name": "voltage of the header",
        "expected": f"{installation.supply_v:g} V",
        "measured": f"{float(typed):g} V" if typed else "",
        "verdict": finding.verdict.value,
        "sentence": finding.sentence,
        "reason": reason,
        "short": False,
        "stands": True,
    }


def _metered(lines: list[dict[str, object]]) -> Metered:
    found = {line["verdict"] for line in lines if line["stands"]}
    weights = (Verdict.FAIL, Verdict.NOT_JUDGED)
    verdict = next((weight for weight in weights if weight.value in found), Verdict.PASS)
    return Metered(verdict, any(line["short"] for line in lines if line["stands"]))


def _record(lines: list[dict[str, object]], seen: list[Observation], metered: Metered) -> Steps[None]:
    sentences = [_said(line) for line in lines if line["verdict"] != Verdict.PASS.value or not line["stands"]]
    yield from establish(
        NAME,
        f"Meter check: {metered.verdict.value}.",
        *sentences,
        verdict=metered.verdict.value,
        lines=[{key: line[key] for key in SHOWN} for line in lines],
        short=metered.short,
        observations=as_facts(seen),
        open_above_ohm=OPEN_ABOVE_OHM,
    )
    if metered.verdict is Verdict.FAIL:
        failed = [str(line["sentence"]) for line in lines if line["verdict"] == Verdict.FAIL.value and line["stands"]]
        cure = "Leave the sensor unplugged. Put connector and contact right, and measure again before plugging in."
        yield Punch(PunchClass.UNSAFE, f"The meter check failed. {' '.join(failed)}", cure)


def _said(line: dict[str, object]) -> str:
    return str(line["sentence"]) if line["stands"] else f"First reading, measured again: {line['sentence']}"


def _plug_in(metered: Metered) -> Steps[None]:
    if metered.verdict is Verdict.FAIL:
        yield Tell(("Leave the sensor unplugged: a line of the sheet failed.",), weight=Weight.DANGER)
        return
    yield from hold(
        Hold(
            "meter.plug_in",
            "Power off: plug the sensor in",
            PLUG_STEPS,
            "Is the sensor plugged in and the printer on?",
            power=True,
            cautions=(HANDS,),
        )
    )
