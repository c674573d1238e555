"""Who the printer is, which sensor is meant, what its settings were, what is signed: by hands at simulated units."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from commission.asking.message import Tell
from commission.asking.steps import Steps
from commission.evidence.findings.base import Finding
from commission.evidence.findings.borrow import BorrowPredicted
from commission.evidence.findings.settings import SettingsAtCheck
from commission.judge.trial_series import Begun, SeriesSoFar
from commission.link.identity import PortIdentity
from commission.procedure.borrow.prediction import held_against_prediction
from commission.procedure.loop.loop_check import loop_check
from commission.procedure.loop.series import continued, named
from commission.procedure.meeting.as_found import as_found
from commission.procedure.meeting.consent import consent
from commission.procedure.meeting.identify import identify
from commission.procedure.meeting.identity import (
    PrinterMarks,
    Surroundings,
    left_on_here,
    prove,
    same_as_in_run,
    same_printer,
)
from commission.procedure.meeting.next_check import Calendar
from commission.procedure.meeting.not_reported import not_reported
from commission.procedure.meeting.sign_off import sign_off
from commission.procedure.settings.as_text import keeps_a_file, settings_as_text
from commission.procedure.settings.backup import backup, backup_of_capture
from commission.procedure.settings.drift import settings_drift
from commission.procedure.wiring.declaration import assessed, wiring_found
from commission.procedure.wiring.noted import NotedWiring, told_as_declared
from commission.vocabulary import FailSafe, Level, Pull, SwitchBehaviour, Verdict
from tests.procedure.path_hands import PathHands
from tests.procedure.settings_bench import SHEET
from tests.procedure.transcripts.hands_runs import LEFTOVER_MM, PLAN, SWITCH, TWO_WIRES, USUAL
from tests.procedure.transcripts.recorder import Recorder, Scene
from tests.procedure.transcripts.settings_runs import RECORD
from tests.support.made import made
from tests.support.on_record import marks_on_record

TODAY = date(2031, 3, 14)
CHIP = "fffe:0001"
HERE = PortIdentity(CHIP, "", "1-3", "/dev/ttyUSB1")
THERE = PortIdentity(CHIP, "", "1-4", "/dev/ttyUSB2")
NUMBERED = PortIdentity("fffe:0002", "SN-0001", "1-2", "/dev/ttyUSB0")
OPERATOR = "R. Okafor"


def met_by(
    unit: str,
    steps: Callable[[], Steps[Any]],
    answers: Mapping[str, Any] | None = None,
    earlier: Iterable[Finding] = (),
    often: int = 1,
) -> Scene:
    """Steps carried out by hands at a unit, whose book holds these findings of earlier runs."""

    def run(recorder: Recorder) -> object:
        hands = PathHands(unit, (), {**USUAL, **(answers or {})}, LEFTOVER_MM)
        for finding in earlier:
            hands.earlier.keep(finding)
        return hands.carry_out(recorder.of(steps()))

    return Scene(run, often)


def known(surroundings: Surroundings, before: PrinterMarks | None = None) -> Callable[[], Steps[object]]:
    """Whether it is the printer of the tag, then whether it is the one of a run that was broken off."""

    def steps() -> Steps[object]:
        same = yield from same_printer(surroundings, (yield from identify()), before)
        return same, (yield from same_as_in_run(surroundings, same, PrinterMarks(THERE, machine="Bench")))

    return steps


def left_on(surroundings: Surroundings) -> Callable[[], Steps[None]]:
    """Whether it is the printer that was left with something switched on."""

    def steps() -> Steps[None]:
        yield from left_on_here(surroundings, (yield from identify()))

    return steps


def shown() -> Steps[object]:
    """The tag on the display, then the consent to checks without anybody."""
    yield from prove("bench-3")
    return (yield from consent(OPERATOR))


def signed(calendar: Calendar) -> Callable[[], Steps[object]]:
    """The signature, with the date of the next check."""
    return lambda: sign_off(OPERATOR, calendar)


def sensors(wanted: str = "", together: tuple[str, ...] | None = ()) -> Callable[[], Steps[object]]:
    """Which sensors are tested, and what is said where none can be."""

    def steps() -> Steps[object]:
        found = yield from as_found((yield from identify()), wanted, together)
        return found, (yield from not_reported(found.met)) if found.switch is None else None

    return steps


def untold() -> Steps[object]:
    """What is said where nothing is known of the printer."""
    return (yield from not_reported(None))


def as_text() -> Steps[object]:
    """The settings of a printer that keeps them in a file."""
    printer = keeps_a_file((yield from identify()))
    return printer if printer is None else (yield from settings_as_text(printer, SHEET))


def captured() -> Steps[object]:
    """A record from a saved report, then one from the printer, on top of it."""
    yield from backup_of_capture(RECORD.lines, "saved.txt", SHEET, "ExampleFW 102.1.1")
    return (yield from backup(SHEET, "ExampleFW 102.1.2", {"Switches": ("filament: out",)}))


def held() -> Steps[object]:
    """What a borrowed socket predicted, beside everything that a loop check can come to."""
    for behaviour in SwitchBehaviour:
        for safety in FailSafe:
            yield Tell((f"{behaviour.value}, {safety.value}",))
            yield from held_against_prediction(behaviour, safety)
    return None


def declared() -> Steps[object]:
    """A wiring that was declared without a run: alike and otherwise, with a change on record and without."""
    now = wiring_found(assessed(TWO_WIRES), on="2031-03-13", by=OPERATOR)
    otherwise = wiring_found(assessed({**TWO_WIRES, "contact": "NC"}))
    notes = [NotedWiring(now), NotedWiring(now, now, "2031-03-01", sensor="filament 2")]
    notes += [NotedWiring(now, otherwise, "2031-03-01", changed=changed) for changed in (True, False)]
    for each in notes:
        yield from told_as_declared(each.sentences)
    yield from told_as_declared(())
    return [each.as_note for each in notes]


def drifted() -> Steps[object]:
    """The settings beside those on record."""
    identity = yield from identify()
    return (yield from settings_drift("bench-3", TODAY, "ExampleFW 102.1.2", identity))


def in_series(series: SeriesSoFar) -> Callable[[], Steps[object]]:
    """A loop check whose trials are counted in a series that is on record."""

    def steps() -> Steps[object]:
        now = yield from continued(series, OPERATOR)
        yield from named(now, "bench-3", PLAN)
        return (yield from loop_check(PLAN, SWITCH, now, moves=False))

    return steps


AT_HERE = Surroundings("bench-3", HERE)
NUMBERED_HERE = replace(AT_HERE, port=NUMBERED)
PREDICTED = made(BorrowPredicted, socket="x_max", absent=Level.HIGH, pull=Pull.UP)
OTHERS = {"bench-4": PrinterMarks(NUMBERED, "", "ExampleFW", "Bench")}
TWINS = replace(AT_HERE, twins=(THERE,))
ALIKE = replace(AT_HERE, twins=(replace(THERE, location=""),))
USUAL_CALENDAR = Calendar(TODAY, TODAY - timedelta(days=400), hidden_failures=1, full_due=TODAY + timedelta(days=20))
FAILED = SeriesSoFar(2, Begun.CHANGE, runs=("bench-3/2031-03-13/1",), came_to=Verdict.FAIL, change="new lever")
DISTURBED = SeriesSoFar(watch_changes=1, unplugged_bad=1, unplugged_open=1, runs=("bench-3/2031-03-13/1",))
AGREED = {"next_check.usual": False, "next_check.agreed": True}
MET_ALONE = (
    *("not-compiled-in", "old-forms", "new-forms", "middle-forms", "sentence-form", "letter-states", "line-each"),
    *("family-c", "c-motion", "c-begins", "c-busy", "c-not-ready", "c-shutdown", "c-dictionary", "c-borrowed"),
    *("family-d", "d-display", "family-e", "e-pulses", "b-monitor-off", "b-laser", "b-magnet-switch", "b-empty-lines"),
)
MEETING_RUNS: Mapping[str, Scene] = {
    "first meeting": met_by("sound", known(AT_HERE)),
    "meeting beside twins": met_by("sound", known(TWINS), earlier=[marks_on_record(PrinterMarks(HERE))]),
    "meeting beside twins without a place": met_by("sound", known(ALIKE, PrinterMarks(THERE))),
    "meeting of another printer": met_by("sound", known(replace(AT_HERE, port=NUMBERED, others=OTHERS))),
    "meeting without anybody": met_by("sound", known(replace(AT_HERE, attended=False), PrinterMarks(NUMBERED))),
    "meeting by its serial number": met_by("sound", known(NUMBERED_HERE, PrinterMarks(NUMBERED, "another-number"))),
    "meeting by its unique number": met_by("sound", known(AT_HERE, PrinterMarks(THERE, "another-number"))),
    "borrowed socket beside loop checks": met_by("sound", held, earlier=[PREDICTED], often=0),
    "wiring declared without a run": met_by("sound", declared, often=0),
    "left on": met_by("sound", left_on(AT_HERE)),
    "left on, known by its place": met_by("sound", left_on(TWINS), earlier=[marks_on_record(PrinterMarks(THERE))]),
    "shown and agreed": met_by("sound", shown),
    "signed at first": met_by("sound", signed(Calendar(TODAY, TODAY))),
    "signed with a demand": met_by("sound", signed(USUAL_CALENDAR), AGREED),
    "sensors of two": met_by("two-sensors", sensors(), {"source.which": "all"}),
    "sensors that are all named": met_by("two-sensors", sensors("all")),
    "sensors named one by one": met_by("two-sensors", sensors("filament,filament 2, filament")),
    "sensors named in a job for one": met_by("two-sensors", sensors("all", None)),
    "sensors that are no names": met_by("two-sensors", sensors(" , ")),
    "sensors of a board": met_by("b-two-monitors", sensors()),
    "sensors of a board, all": met_by("b-two-monitors", sensors("all")),
    **{f"sensor of {unit}": met_by(unit, sensors(together=None)) for unit in MET_ALONE},
    "sensor of nothing at hand": met_by("sound", untold),
    **{f"settings as text of {unit}": met_by(unit, as_text) for unit in ("family-b", "family-c", "sound")},
    "settings of a saved report": met_by("tuned", captured),
    "settings drifted": met_by(
        "tuned", drifted, earlier=[SettingsAtCheck(sentences=("As read.",), **RECORD.values())], often=1
    ),
    "settings without a record": met_by("tuned", drifted),
    "settings in a file": met_by("family-b", drifted),
    "series that failed": met_by("sound", in_series(FAILED), {"unplug.ready": False}, often=0),
    "series that was disturbed": met_by("sound", in_series(DISTURBED), {"series.since": "examined"}, often=0),
}
