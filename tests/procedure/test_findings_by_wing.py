"""Every kind of finding is established by its wing of the procedures, and comes back out of the book as it went in.

That it comes back is looked at by `KeptFindings`, which every bench keeps its findings in.
"""

from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from random import Random
from types import ModuleType
from typing import Any

from commission.asking.moving import MovesEnd, MovesRun, RunMoves
from commission.asking.request import Ask, Request, Watch
from commission.asking.response import HoldReleased, TimedReading, WatchTaken
from commission.asking.steps import Steps
from commission.dialect.family import Family, Identified
from commission.dialect.framing import RawLine
from commission.dialect.replies import classify
from commission.dialect.sources.search import Searched
from commission.evidence.findings import KINDS, borrow, cause, function, loop, meeting, reported, settings, wiring
from commission.evidence.findings.base import Finding
from commission.jobs.check import periodic_check
from commission.jobs.settings_share import settings_as_left
from commission.judge.gates import GateEvidence
from commission.procedure.borrow.prediction import held_against_prediction
from commission.procedure.function.extras import KINDS as EXTRAS
from commission.procedure.function.extras import left_out
from commission.procedure.function.pause_told import pause_told
from commission.procedure.function.plan import FunctionPlan
from commission.procedure.function.reserve_on_record import recalled_reserve
from commission.procedure.function.verdict import Seen, judge_function
from commission.procedure.loop.moving_wiggle import offered_moving_wiggle
from commission.procedure.loop.unplug import unplug_test
from commission.procedure.loop.wiggle import wiggle_by_hand
from commission.procedure.meeting.background import Continuation
from commission.procedure.meeting.next_check import Calendar
from commission.procedure.meeting.not_reported import not_reported
from commission.procedure.meeting.sign_off import sign_off
from commission.procedure.meeting.sources import Looked, keep_sources
from commission.procedure.meeting.unsafe import OnRecord, UnsafeItems
from commission.procedure.settings.as_text import settings_as_text
from commission.procedure.settings.backup import backup, backup_of_capture
from commission.procedure.settings.reflash import look_after, reflash
from commission.procedure.settings.restore import reload
from commission.procedure.wiring.claims import input_claims
from commission.procedure.wiring.pin_look import pin_look
from commission.session import End, Exchange
from commission.vocabulary import FailSafe, Reading, SwitchBehaviour, Verdict
from tests.dialect.printers import printer
from tests.procedure.borrow_bench import BorrowBench
from tests.procedure.settings_bench import SHEET, FakeStore, FakeUnit, SettingsBench
from tests.procedure.test_power_words import DAY, JOBS, PLAN, RECORD, SUBJECT, at_work
from tests.procedure.test_settings_backup import Mute
from tests.procedure.test_settings_restore import DEFAULTS, restored
from tests.procedure.test_settings_units import carried_out
from tests.procedure.unit_hands import ScriptedHands
from tests.settings.reports import OLDER, OLDEST
from tests.support.fake_workshop import FakeWorkshop
from tests.support.family_bench import HOST
from tests.support.scripted_phase import ScriptedPhase

SWITCH = "filament"
ON_A_HOST = Identified(Family.C, (HOST,))
MOST_WAYS = 60
"""So many ways through a job are gone by chance, until its findings have all come up."""
IN = tuple(TimedReading(0.1 * place, Reading.ACTIVE, "shut") for place in range(20))
OUT = tuple(TimedReading(0.1 * place, Reading.INACTIVE, "open") for place in range(20))


def kinds_of(*modules: ModuleType) -> set[type[Finding]]:
    """Every kind of finding in these modules."""
    names = {module.__name__ for module in modules}
    return {kind for kind in KINDS.values() if kind.__module__ in names}


def kinds_in(findings: Iterable[Finding]) -> set[type[Finding]]:
    """The kinds of these findings."""
    return {type(finding) for finding in findings}


def by_chance(wanted: set[type[Finding]], *jobs: str) -> set[type[Finding]]:
    """What these jobs establish on ways through them by chance; no more ways than all of `wanted` take."""
    found: set[type[Finding]] = set()
    for seed in range(MOST_WAYS):
        for job in jobs:
            if wanted <= found:
                return found
            workshop, _ = at_work(job, seed)
            workshop.carry_out(JOBS[job]())
            found |= kinds_in(workshop.findings)
    return found


def answers(*responses: object) -> Callable[[Request], object]:
    """Answers moves and watches by these, one by one; a command is taken and a release given."""
    left = list(responses)

    def respond(request: Request) -> object:
        match request:
            case Watch() | RunMoves():
                return left.pop(0)
            case Ask():
                reply = classify(RawLine.of("PIN: 42 Port: B7 X_MAX_PIN protected"))
                return Exchange(request.command, (reply,), (), End.ACKNOWLEDGED, 0.0, 0.1)
        return True

    return respond


def played(steps: Steps[Any], given: dict[str, Any] | None = None, *responses: object) -> set[type[Finding]]:
    """What a phase establishes with these answers."""
    phase = ScriptedPhase(given or {}, other=answers(*responses))
    return kinds_in(phase.play(steps).findings)


def watched(readings: tuple[TimedReading, ...]) -> WatchTaken:
    """A watch that read this."""
    return WatchTaken(readings, 2.0, 0.1)


def moved(readings: tuple[TimedReading, ...]) -> MovesRun:
    """Test moves during which this was read."""
    return MovesRun(MovesEnd.NO_TRIP, (), readings, (), 2.0)


def test_every_finding_of_the_meeting_survives_the_book() -> None:
    """Who answers, what it reports at each moment, taking up, repair, consent, sign-off and the next dates."""
    broken_off = Continuation("bench-3/1", "2031-03-14T09:30:00+00:00", "stopped", {"proof_test": {"switch": SWITCH}})
    subject = replace(SUBJECT, full=True, prove=True, open_items=("2031-03-01: a plug.",), continuation=broken_off)
    workshop = FakeWorkshop(Random(1), yes=1.0)  # noqa: S311 - repeatable, not secret
    workshop.carry_out(periodic_check(subject))
    found = kinds_in(workshop.findings)
    found |= played(keep_sources(Looked(None, (), Searched()), None)) | played(not_reported(None))
    found |= played(sign_off("R. Okafor", Calendar(DAY, DAY)))
    found |= played(UnsafeItems(OnRecord(("It failed.",))).held_against(Verdict.PASS))

    missing = kinds_of(meeting, reported) - found
    assert set() == missing - by_chance(missing, "install, change the contact", "install, nothing to change")


def test_every_finding_of_the_loop_check_survives_the_book() -> None:
    """Trials, both wiggles and what sets them aside, unplugged readings and the wrong plug, start-up and acceptance."""
    misread = {"wiggle.presence": "in", "moving_wiggle.presence": "in", "moving.how": "motors"}
    slipped = {"wiggle.where": "out", "moving_wiggle.where": "out", "moving.how": "motors"}
    found = played(offered_moving_wiggle(PLAN, SWITCH), {"moving.how": "no"})
    for steps, taken in ((wiggle_by_hand, watched), (offered_moving_wiggle, moved)):
        found |= played(steps(PLAN, SWITCH), misread, watched(OUT))
        found |= played(steps(PLAN, SWITCH), slipped, watched(IN), taken(OUT), watched(IN), taken(IN))
    hands = ScriptedHands("sound")
    hands.places["unplug.1"] = [("plug",)]
    hands.carry_out(unplug_test(PLAN, SWITCH))

    missing = kinds_of(loop) - found - kinds_in(hands.findings)
    assert set() == missing - by_chance(missing, "install, nothing to change", "full check")


def test_every_finding_of_the_wiring_survives_the_book() -> None:
    """The declaration or what is missing of it, the input and its pin, both sheets, prediction and measurement."""
    claimed = {"claims.name": "X-MAX", "claims.pin": "42", "claims.also": "none"}
    one_pin = {"pin.number": "42", "pin.also": "alone", "pin.restart": False}
    missing = kinds_of(wiring) - played(input_claims({}), claimed) - played(pin_look(printer(Family.D)), one_pin)

    assert set() == missing - by_chance(missing, "install, nothing to change")


def test_every_finding_of_the_settings_survives_the_book() -> None:
    """As found, after a reflash and a restore, as left; what could not be read, kept, loaded or saved; the files."""

    class Damaged(FakeStore):
        """Cannot load what it stores."""

        def ask(self, text: str) -> list[str]:
            """Answer; a reload ends in an error."""
            return [*(["Error:EEPROM CRC mismatch"] if text == "M501" else []), *super().ask(text)]

    mute = SettingsBench(Mute(OLDER, ""), {"way_back.*": False, "reflash.without_backup": False})
    found: set[type[Finding]] = set()
    for steps in (
        backup(SHEET, "", {}),
        backup_of_capture(tuple(OLDEST.splitlines()), "cut.txt", SHEET, ""),
        settings_as_left(SHEET, RECORD),
        look_after(SHEET, RECORD, None, HoldReleased()),
        reflash(SHEET, None),
    ):
        found |= kinds_in(mute.play(steps).findings)
    found |= kinds_in(SettingsBench(Damaged(OLDER, "")).play(reload("reload", "to see")).findings)
    for build in ("new-no-storage", "new-save-fails", "new-layout"):
        found |= kinds_in(carried_out(FakeUnit("tuned", build))[1].findings)

    found |= kinds_in(restored(FakeStore(DEFAULTS, DEFAULTS, faults={2: "ignored"})).findings)

    found |= played(settings_as_text(ON_A_HOST, SHEET))

    missing = kinds_of(settings) - found
    jobs = ("backup", "restore", "full check", "install, nothing to change", "install, invert the logic")
    assert set() == missing - by_chance(missing, *jobs)


def test_every_finding_of_the_function_test_survives_the_book() -> None:
    """The gates, the reserve, each pause and change, the tests beside them, and the job for the card."""
    seen = Seen(FunctionPlan(), SWITCH, GateEvidence(), word_in=(Reading.ACTIVE, "shut"))
    found = played(judge_function(seen)) | played(recalled_reserve(None, None))
    for key in EXTRAS:
        found |= played(left_out(key, key, "no time"))
    found |= played(pause_told(ON_A_HOST, "sensor reel"), {"pause_watch.now": False})

    missing = kinds_of(function) - found
    assert set() == missing - by_chance(missing, "install, nothing to change", "function, dry", "function, card")


async def test_every_finding_of_the_borrowed_socket_survives_the_book(tmp_path: Path) -> None:
    """The socket, its wiring, the prediction, the handing back; and an installation held against the prediction."""
    bench = BorrowBench(tmp_path)
    await bench.borrowed()
    held = ScriptedPhase(recalled=[bench.desk.findings[borrow.BorrowPredicted]]).play(
        held_against_prediction(SwitchBehaviour.DIRECT, FailSafe.SAFE)
    )

    assert set() == kinds_of(borrow) - kinds_in(bench.desk.findings) - kinds_in(held.findings)


def test_every_finding_of_cause_and_check_survives_the_book() -> None:
    """The diagnosis and the periodic check."""
    assert set() == kinds_of(cause) - by_chance(kinds_of(cause), "diagnose", "brief check")
