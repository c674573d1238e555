"""The way out by what the printer is doing, the accounts it goes by, and the watchdog."""

from pathlib import Path

import pytest

from commission.asking.response import InterruptionKind
from commission.conductor.ledger import Ledger
from commission.conductor.made_safe import Delivered, Doing, MadeSafe
from commission.conductor.watchdog import ASK_AFTER_S, GIVE_UP_AFTER_S, Unattended, Watchdog
from commission.dialect.changes import SwitchedOn
from commission.dialect.commands import (
    COLD_EXTRUSION,
    FAN_ON,
    SAVE_STORED,
    START_JOB,
    SWITCHES,
    Effect,
    hotend_target,
    permit_cold_extrusion,
)
from commission.dialect.jobs import CARD
from commission.dialect.reports import ColdExtrusion
from commission.evidence import runs
from commission.evidence.entry import Entry
from commission.evidence.measured import MovesBegan
from commission.evidence.runs import WayOut
from commission.evidence.talk import HoldReleased, Punched
from commission.evidence.wire import Intent, Result
from commission.jobs.function import function_run
from commission.procedure.function.plan import FunctionPlan, Mode
from fake_printer.printer import Printer
from fake_printer.profile import load_profile
from tests.fake_printer.line import changed
from tests.support.device_bench import DeviceBench
from tests.support.fake_desk import FakeDesk
from tests.support.fake_time import FakeClock
from tests.support.installed import UNKNOWN
from tests.support.made import made, on_record


def test_questions_leave_no_account_open() -> None:
    """A run that only read has nothing to make safe, nor has one that only saved."""
    ledger = Ledger()
    ledger.sent(SWITCHES)
    ledger.sent(SAVE_STORED)

    assert not ledger.needs_make_safe
    assert [] == ledger.put_back()


def test_what_was_found_is_put_back_and_not_a_usual_value() -> None:
    """The limit read before the first change is the one that is put back; a later reading is not as found."""
    ledger = Ledger()
    ledger.read(COLD_EXTRUSION.text, ["echo:Cold extrudes are disabled (min temp 185C)"])
    ledger.sent(permit_cold_extrusion(on=True))
    ledger.read(COLD_EXTRUSION.text, ["echo:Cold extrudes are enabled (min temp 0C)"])

    assert ColdExtrusion(allowed=False, limit_c=185.0) == ledger.cold
    assert ["M302 S185", "M302 P0"] == [command.text for command in ledger.put_back()]


def sent(command: str, effect: Effect) -> Intent:
    """A command as it stands in the book before it goes out."""
    return Intent(command=command, purpose="", effect=effect)


HEATED = sent("M104 S200", Effect.HEAT)


def ledger_of(*entries: Entry) -> Ledger:
    """The accounts that these entries leave open."""
    return Ledger.from_record([on_record(entry, place) for place, entry in enumerate(entries, 1)])


def test_the_accounts_are_rebuilt_from_the_record() -> None:
    """A killed run's entries give the same accounts; a complete make-safe in between closes them."""
    cold = ("echo:Cold extrudes are disabled (min temp 170C)", "ok")
    entries: list[Entry] = [
        sent("M302", Effect.READ_ONLY),
        Result(command="M302", end="acknowledged", lines=cold),
        sent("M302 P1", Effect.SETTING),
        HEATED,
        made(MovesBegan, sends=True),
    ]

    ledger = ledger_of(*entries)

    assert ledger.may_be_hot
    assert ["M302 S170", "M302 P0"] == [command.text for command in ledger.put_back()]
    assert not ledger_of(*entries, runs.MadeSafe(way_out=WayOut(complete=True))).needs_make_safe
    assert ledger_of(*entries, runs.MadeSafe(way_out=WayOut(complete=False))).needs_make_safe


def test_a_restart_closes_the_accounts_on_record() -> None:
    """A power hold point from which the board came back restarted leaves nothing on, as it does within a run."""
    assert not ledger_of(HEATED, HoldReleased(key="off", restarted=True)).needs_make_safe
    assert ledger_of(HEATED, HoldReleased(key="off", restarted=False)).needs_make_safe


def test_accounts_are_set_aside_and_taken_over_whole() -> None:
    """What another run left on is not acted on while it is set aside, and is all there once it is taken over."""
    ledger = ledger_of(HEATED)
    ledger.sent(START_JOB)
    aside = ledger.set_aside()
    between = (ledger.needs_make_safe, bool(ledger.effects))
    ledger.take_over(aside)

    assert (False, False) == between
    assert ledger.may_be_hot
    assert ["M77"] == [command.text for command in ledger.put_back()]


def test_a_job_that_was_started_is_stopped() -> None:
    """Starting the job timer alone is enough to be put back."""
    ledger = Ledger()
    ledger.sent(START_JOB)

    assert ["M77"] == [command.text for command in ledger.put_back()]


def test_a_fan_that_was_switched_on_is_switched_off() -> None:
    """The part fan is an account of its own: it is put back also where nothing heated or moved."""
    ledger = Ledger()
    ledger.sent(FAN_ON)

    assert ["M107"] == [command.text for command in ledger.put_back()]


def test_only_a_card_job_that_began_during_the_run_is_stopped() -> None:
    """One that was under way at the first look is somebody's print and is left alone; one that ended needs no stop."""
    idle, at_work = ["Not SD printing"], ["SD printing byte 12/4096"]
    earlier, ours, ended = Ledger(), Ledger(), Ledger()
    for ledger, heard in ((earlier, [at_work, at_work]), (ours, [idle, at_work]), (ended, [idle, at_work, idle])):
        for lines in heard:
            ledger.read(CARD.text, lines)

    assert not earlier.needs_make_safe
    assert "M524" == ours.put_back()[0].text
    assert SwitchedOn.CARD_JOB not in ended.changes
    assert ended.needs_make_safe  # what its file permits and switches is put back all the same


async def card_job_stopped(folder: Path, generation: str) -> tuple[DeviceBench, MadeSafe]:
    """A card test that the operator ends by Ctrl-C while the job is under way."""
    bench = DeviceBench(Printer(changed(load_profile("sound"), firmware={"generation": generation})), folder)
    bench.printer.perform("free-gear")
    bench.desk.stop_at = "pause.pull"
    return bench, (await bench.run(function_run(FunctionPlan(Mode.CARD), "R. Okafor", UNKNOWN.surroundings))).made_safe


async def test_a_card_job_is_stopped_with_the_run(tmp_path: Path) -> None:
    """The job is stopped, read back as stopped, and what its file permitted is forbidden again."""
    bench, made = await card_job_stopped(tmp_path, "2.1")

    assert (Doing.ANSWERS, True) == (made.doing, made.complete)
    assert ("Job from the card read back as stopped", Delivered.YES) == (
        made.attempts[-1].what,
        made.attempts[-1].delivered,
    )
    assert bench.printer.firmware is not None
    assert not bench.printer.firmware.runner.card
    assert not bench.printer.state()["cold_extrusion_allowed"]


async def test_a_card_job_that_cannot_be_stopped_is_said_to_run_on(tmp_path: Path) -> None:
    """An older build does not know the word: the job is shown as not stopped, with what to do at the printer."""
    bench, made = await card_job_stopped(tmp_path, "1.1")

    assert not made.complete
    assert "stop it at the printer's own display, or with its power switch" == made.attempts[-1].detail
    assert "Job from the card read back as stopped" in bench.desk.items[-1].text


def test_the_watchdog_asks_before_it_gives_up() -> None:
    """After five minutes it asks whether anybody is there, a minute later it ends the run; cold it does neither."""
    clock, desk = FakeClock(), FakeDesk()
    hot, cold = Watchdog(clock, desk, lambda: True), Watchdog(clock, desk, lambda: False)

    for elapsed_s in (0.0, ASK_AFTER_S - 0.5):
        clock.elapsed_s = elapsed_s
        hot.look()
    assert [] == desk.statuses
    for elapsed_s in (ASK_AFTER_S, ASK_AFTER_S + GIVE_UP_AFTER_S - 0.5):
        clock.elapsed_s = elapsed_s
        hot.look()
        assert "are you there?" in desk.statuses.pop().note
    clock.elapsed_s = ASK_AFTER_S + GIVE_UP_AFTER_S
    cold.look()
    with pytest.raises(Unattended, match="6 minutes"):
        hot.look()


def test_heat_that_was_made_safe_needs_no_watch() -> None:
    """Once everything is settled the run is not hot any more."""
    ledger = Ledger()
    ledger.sent(hotend_target(200))
    hot = ledger.may_be_hot
    ledger.close_accounts()

    assert (True, False) == (hot, ledger.may_be_hot)


async def at_the_pause(tmp_path: Path, unit: str, *, stops: bool | None) -> tuple[DeviceBench, MadeSafe]:
    """A warm test that the operator ends by Ctrl-C while the printer waits for filament."""
    bench = DeviceBench(Printer(load_profile(unit)), tmp_path)
    bench.answers = lambda key: stops if key == "make_safe.stop" else None
    bench.desk.stop_at = "change.inserted"
    ended = await bench.run(function_run(FunctionPlan(Mode.WARM, pauses=1), "R. Okafor", UNKNOWN.surroundings))

    assert ended.interruption is not None
    assert InterruptionKind.OPERATOR_STOP is ended.interruption.kind
    return bench, ended.made_safe


async def test_what_was_heated_is_said_to_cool_slowly(tmp_path: Path) -> None:
    """A nozzle whose heater is off is still hot: the way out of a run that heated says so, a cold one does not."""
    said = "What was heated cools slowly: keep clear of the nozzle and the bed until they are cool."
    told = {}
    for mode in (Mode.WARM, Mode.DRY):
        (tmp_path / mode.value).mkdir()
        bench = DeviceBench(Printer(load_profile("sound")), tmp_path / mode.value)
        bench.desk.stop_at = "pause.pull" if mode is Mode.DRY else "pause.cut"
        ended = await bench.run(function_run(FunctionPlan(mode, pauses=1), "R. Okafor", UNKNOWN.surroundings))
        assert ended.made_safe.complete
        told[mode] = said in bench.desk.told

    assert {Mode.WARM: True, Mode.DRY: False} == told


async def test_a_waiting_printer_is_stopped_by_release(tmp_path: Path) -> None:
    """Blocked in a change it takes the emergency stop and nothing else; the word that goes on is never sent."""
    bench, made = await at_the_pause(tmp_path, "sound", stops=True)

    assert (Doing.HALTED, True) == (made.doing, made.complete)
    assert [Delivered.NO, Delivered.YES] == [attempt.delivered for attempt in made.attempts]
    assert bench.printer.state()["killed"]
    assert ["A"] == [item.grade.value for item in bench.desk.items]
    assert "it is dead until it is reset" in bench.desk.items[-1].text
    assert bench.desk.items[-1].text == bench.entries(Punched)[-1].text
    assert "M108" not in bench.received
    assert [] == [line for line in bench.received if line.startswith("M876")]


async def test_a_stop_that_was_not_released_is_shown_as_not_delivered(tmp_path: Path) -> None:
    """Without the release nothing is sent, the heaters stay on, and the screen says to use the power switch."""
    bench, made = await at_the_pause(tmp_path, "sound", stops=False)

    assert (Doing.BLOCKED, False) == (made.doing, made.complete)
    assert {"hotend": 200.0, "bed": 0.0} == bench.printer.state()["targets_c"]
    assert "Use the printer's power switch now, then wait until it is cool." in bench.desk.told
    assert "not shown to be done: Heaters off, Emergency stop" in bench.desk.items[-1].text
    assert "M112" not in bench.received


async def test_without_emergency_words_only_the_power_switch_is_left(tmp_path: Path) -> None:
    """A build that takes no emergency words is not asked for; the power switch is named."""
    bench, made = await at_the_pause(tmp_path, "display-only", stops=True)

    assert (Doing.BLOCKED, False) == (made.doing, made.complete)
    assert "make_safe.stop" not in bench.desk.asked
    assert any("not known to take emergency words" in attempt.detail for attempt in made.attempts)
